"""A journal in an empty folder, with a clock and ids that are the same every time."""

import hashlib
import itertools
from datetime import UTC, datetime, timedelta

import pytest

from daq.head.plan import shipped_plans
from daq.head.record import Draft, EntryKind
from daq.records.database import FILE_NAME
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


@pytest.fixture(scope="session")
def closed(tmp_path_factory):
    """Two jobs of four entries, with two traces, closed."""
    make, folder = Maker(), tmp_path_factory.mktemp("closed")
    with make.journal(folder) as journal:
        for job, number in (("job-1", "A 100"), ("job-2", "B 200")):
            packed = f"trace of {job}".encode()
            body = {"value": "0.012", "trace_sha256": hashlib.sha256(packed).hexdigest()}
            journal.append([make.opening(job, number)])
            journal.append([Draft(job, EntryKind.KEPT, body, packed), make.note(job)])
            journal.append([Draft(job, EntryKind.SIGNED, {"person": "invented"})])
    return folder / FILE_NAME
