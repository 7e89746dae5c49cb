"""A journal in an empty folder, with a clock and ids that are the same every time."""

import itertools
from datetime import UTC, datetime, timedelta

import pytest

from daq.head.plan import shipped_plans
from daq.head.record import Draft, EntryKind
from daq.records.journal import Journal


class Maker:
    """Hands a journal its time and its ids, and makes drafts."""

    def __init__(self) -> None:
        self._ids = itertools.count(1)
        self._ticks = itertools.count()

    def now(self) -> datetime:
        return datetime(2026, 3, 4, 5, 6, 7, tzinfo=UTC) + timedelta(seconds=next(self._ticks))

    def new_id(self) -> str:
        return f"id-{next(self._ids)}"

    def journal(self, folder) -> Journal:
        return Journal.open(folder, now=self.now, new_id=self.new_id)

    def opening(self, job="job-1", number="A 100") -> Draft:
        plan = shipped_plans()["four-by-two"].model_dump(mode="json", exclude_none=True)
        return Draft(job, EntryKind.JOB_OPENED, {"number": number, "plan": plan, "person": None})

    def note(self, job="job-1", said="20.5") -> Draft:
        return Draft(job, EntryKind.TEMPERATURE, {"part_c": said, "gauge_c": "20", "person": None})


@pytest.fixture
def make():
    return Maker()


@pytest.fixture
def journal(make, tmp_path):
    with make.journal(tmp_path / "data") as journal:
        yield journal
