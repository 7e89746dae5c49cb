"""A journal in an empty folder or database, with a clock and ids that are the same every time.

What asks for `make` or `journal` runs twice: on SQLite and on a real PostgreSQL. A module about
files says `ON = ["sqlite"]`.
"""

import contextlib
import hashlib
import itertools
import sqlite3
import uuid
from datetime import UTC, datetime, timedelta

import psycopg
import pytest

from daq.head.plan import shipped_plans
from daq.head.record import Draft, EntryKind
from daq.records.database import FILE_NAME
from daq.records.journal import Journal
from daq.records.records import Records
from daq.records.rows import Receipt
from tests.servers import postgres  # noqa: F401


class Maker:
    """Hands a journal its time and its ids, and makes drafts."""

    def __init__(self, server=None) -> None:
        self.server = server
        self._schemas = {}
        self._ids = itertools.count(1)
        self._ticks = itertools.count()

    def now(self) -> datetime:
        return datetime(2026, 3, 4, 5, 6, 7, tzinfo=UTC) + timedelta(seconds=next(self._ticks))

    def new_id(self) -> str:
        return f"id-{next(self._ids)}"

    def url(self, folder):
        """The database that goes with that folder; None where the folder has it in itself."""
        if self.server is None:
            return None
        if folder not in self._schemas:
            self._schemas[folder] = self.server.database(f"s{uuid.uuid4().hex}")
        return self._schemas[folder]

    def journal(self, folder) -> Journal:
        return Journal.open(folder, now=self.now, new_id=self.new_id, url=self.url(folder))

    def reader(self, folder) -> Records:
        return Records.open_to_read(folder, self.url(folder))

    def alter(self, folder, *queries) -> None:
        """What somebody with the database and some knowledge can do."""
        with contextlib.closing(self.plain(folder)) as plain:
            for query in queries:
                assert plain.execute(query).rowcount > 0, query

    def plain(self, folder):
        """The database without any of our code."""
        if self.server is None:
            return sqlite3.connect(folder / FILE_NAME, isolation_level=None)
        return psycopg.connect(self.url(folder), autocommit=True)

    def opening(self, job="job-1", number="A 100") -> Draft:
        plan = shipped_plans()["four-by-two"].model_dump(mode="json", exclude_none=True)
        return Draft(job, EntryKind.JOB_OPENED, {"number": number, "plan": plan, "person": None})

    def note(self, job="job-1", said="20.5") -> Draft:
        return Draft(job, EntryKind.TEMPERATURE, {"part_c": said, "gauge_c": "20", "person": None})


def pytest_generate_tests(metafunc):
    if "make" in metafunc.fixturenames:
        on = getattr(metafunc.module, "ON", ["sqlite", "postgresql"])
        metafunc.parametrize("make", on, indirect=True)


@pytest.fixture
def make(request):
    if request.param == "sqlite":
        return Maker()
    return Maker(request.getfixturevalue("postgres"))


@pytest.fixture
def journal(make, tmp_path):
    with make.journal(tmp_path / "data") as journal:
        yield journal


@pytest.fixture(scope="session")
def closed(tmp_path_factory):
    """Two closed jobs of four entries, with two traces, a receipt and a plan; a third job that
    was opened between them is removed."""
    make, folder = Maker(), tmp_path_factory.mktemp("closed")
    with make.journal(folder) as journal:
        for job, number in (("job-1", "A 100"), ("job-3", "C 300"), ("job-2", "B 200")):
            packed = f"trace of {job}".encode()
            body = {"value": "0.012", "trace_sha256": hashlib.sha256(packed).hexdigest()}
            journal.append([make.opening(job, number)], Receipt(job, "hash", 201, "{}"))
            journal.append([Draft(job, EntryKind.KEPT, body, packed), make.note(job)])
            journal.append([Draft(job, EntryKind.SIGNED, {"person": "invented"})])
        journal.remove("job-3", "kept for ten years")
        journal.add_plan(shipped_plans()["four-by-two"])
    return folder
