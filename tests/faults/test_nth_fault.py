"""Every statement, commit and system call of the journal fails once, at n = 1, 2, 3 …"""

import hashlib
import itertools
import sqlite3
from datetime import UTC, datetime

import pytest

from daq.head.plan import shipped_plans
from daq.head.record import Draft, EntryKind
from daq.records import database
from daq.records.errors import RecordError
from daq.records.journal import Journal
from daq.records.rows import Receipt

FAULTS_MOST = 200


class Fuse:
    """Lets the nth operation fail, once; counts them always."""

    def __init__(self) -> None:
        self.left = 0

    def at(self, nth, act):
        """What `act` gives and None, or None and its RecordError, when its nth operation fails."""
        self.left = nth
        try:
            return act(), None
        except RecordError as error:
            return None, error
        finally:
            self.left = 0

    def burn(self) -> None:
        self.left -= 1
        if self.left == 0:
            fault = sqlite3.OperationalError("disk I/O error")
            fault.sqlite_errorcode = sqlite3.SQLITE_IOERR_WRITE
            raise fault


@pytest.fixture
def fuse(monkeypatch):
    """Burns with every statement before it runs and with every commit before it is one."""
    fuse = Fuse()

    class Cursor(sqlite3.Cursor):
        def execute(self, *arguments):
            fuse.burn()
            return super().execute(*arguments)

    class Connection(sqlite3.Connection):
        def cursor(self, factory=Cursor):
            return super().cursor(factory)

        def commit(self):
            fuse.burn()
            super().commit()

    real = sqlite3.connect
    monkeypatch.setattr(
        database.sqlite3, "connect", lambda *a, **b: real(*a, factory=Connection, **b)
    )
    return fuse


def opened_in(folder):
    ids = itertools.count(1)
    return Journal.open(
        folder, now=lambda: datetime(2026, 3, 4, tzinfo=UTC), new_id=lambda: f"id-{next(ids)}"
    )


@pytest.fixture
def journal(fuse, tmp_path):
    with opened_in(tmp_path) as journal:
        yield journal


def opening(job):
    plan = shipped_plans()["four-by-two"].model_dump(mode="json", exclude_none=True)
    return Draft(job, EntryKind.JOB_OPENED, {"number": job, "plan": plan})


def batch(number):
    packed = f"trace {number}".encode()
    sha256 = hashlib.sha256(packed).hexdigest()
    return [
        Draft("job-1", EntryKind.KEPT, {"trace_sha256": sha256}, packed),
        Draft("job-1", EntryKind.VOIDED, {"measurement_id": "id-2", "reason": "invented"}),
    ]


def test_an_append_that_fails_at_its_nth_operation_leaves_nothing(journal, fuse):
    told = list(journal.append([opening("job-1")]))
    for nth in range(1, FAULTS_MOST):
        drafts, receipt = batch(nth), Receipt(f"key {nth}", "hash", 201)
        done, refused = fuse.at(nth, lambda: journal.append(drafts, receipt))  # noqa: B023
        if refused is None:
            break
        assert "nothing of this was kept" in str(refused)
        assert journal.receipt(receipt.key) is None
        assert list(journal.record("job-1").entries) == told
        told += journal.append(drafts, receipt)
        assert list(journal.record("job-1").entries) == told
    # begin and commit, a receipt looked for and written, a trace, two entries, the end of the chain
    assert nth == 1 + 8
    assert list(journal.record("job-1").entries) == [*told, *done]


def test_reading_that_fails_at_its_nth_operation_can_be_tried_again(journal, fuse):
    journal.append([opening("job-1"), *batch(0)])
    before = journal.record("job-1")
    for nth in range(1, FAULTS_MOST):
        _, refused = fuse.at(nth, lambda: journal.record("job-1"))
        assert journal.record("job-1") == before
        if refused is None:
            break
    assert 3 <= nth < FAULTS_MOST


def test_opening_that_fails_at_its_nth_operation_leaves_a_folder_to_open(fuse, tmp_path):
    for nth in range(1, FAULTS_MOST):
        folder = tmp_path / str(nth)
        opened, refused = fuse.at(nth, lambda: opened_in(folder))  # noqa: B023
        if refused is not None:
            opened = opened_in(folder)
        with opened:
            opened.append([opening("job-1")])
            assert opened.damage() == []
        if refused is None:
            break
    assert 10 <= nth < FAULTS_MOST


@pytest.mark.parametrize(
    ("call", "every", "checkpoint_pages"),
    [
        # Each append syncs once. A sync of a checkpoint that fails is no append's concern, so
        # that with one after each append every second sync might be none of a commit.
        *(("fdatasync", 2, 1000), ("fdatasync", 3, 1000), ("fdatasync", 7, 20)),
        # And makes up to forty writes: more than that lie between two that fail.
        *(("pwrite64", every, 20) for every in (47, 61, 83)),
    ],
)
def test_the_kernel_fails_every_nth_call(bench, kept_ids, strace, call, every, checkpoint_pages):
    """EIO from the kernel: what was said to be kept is there once, what was refused is not."""
    bench.prepare()
    failing = f"inject={call}:error=EIO:when={every}+{every}"
    under = (strace, "-qq", "-o", "/dev/null", "-e", f"trace={call}", "-e", failing)
    options = ("--appends", 20, "--checkpoint-pages", checkpoint_pages)
    lines = bench.run(*options, under=under)
    assert sum(line.startswith("refused") for line in lines) >= 2
    assert bench.ids() == kept_ids(lines)
    assert bench.rows("receipts") == 20
