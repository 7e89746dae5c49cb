"""A full disk at every append of a job: a sentence, a whole record, and on when there is room."""

import asyncio
import contextlib
import hashlib
import itertools
from datetime import UTC, datetime

import pytest

from daq.head.plan import shipped_plans
from daq.head.record import Draft, EntryKind
from daq.records.errors import DiskFullError
from daq.records.journal import Journal
from daq.records.outbox import Outbox
from daq.records.rows import Receipt
from tests.api.push.conftest import Receiver

ROOMY = 1_000_000


def test_full_at_every_append(tmp_path):
    """SQLite itself is told that the file may not grow, and answers as it does on a full disk."""
    ids = itertools.count(1)
    journal = Journal.open(
        tmp_path, now=lambda: datetime(2026, 3, 4, tzinfo=UTC), new_id=lambda: f"id-{next(ids)}"
    )
    with journal:
        for number, draft in enumerate(big_drafts()):
            before = [] if number == 0 else list(journal.record("job-1").entries)
            room(journal, "page_count")
            with pytest.raises(DiskFullError, match=r"disk of .* is full.*Make room"):
                journal.append([draft], Receipt(f"key {number}", "hash", 201))
            assert journal.receipt(f"key {number}") is None
            assert [event.entry for event in journal.events(0, 1000)] == before
            room(journal, ROOMY)
            told = journal.append([draft], Receipt(f"key {number}", "hash", 201))
            assert list(journal.record("job-1").entries) == [*before, *told]


def room(journal, pages):
    """Let the file have so many pages, or just those that it has."""
    with journal._database.engine.connect() as connection:
        if pages == "page_count":
            pages = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
        connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")


def big_drafts():
    """Each needs more room than is left over in the pages that are there."""
    plan = shipped_plans()["four-by-two"].model_dump(mode="json", exclude_none=True)
    filled = "invented " * 5000
    yield Draft("job-1", EntryKind.JOB_OPENED, {"number": "A 1", "plan": plan, "said": filled})
    for number in range(4):
        packed = bytes([number]) * 50_000
        body = {"trace_sha256": hashlib.sha256(packed).hexdigest(), "said": filled}
        yield Draft("job-1", EntryKind.KEPT, body, packed)
        yield Draft("job-1", EntryKind.VOIDED, {"measurement_id": "id-2", "reason": filled})


@pytest.mark.parametrize("checkpoint_pages", [1000, 8])
def test_no_file_may_grow_any_more(bench, kept_ids, checkpoint_pages):
    """The kernel refuses every byte beyond a limit that grows by one page a refusal, so that
    every append meets it at each of its pages (RLIMIT_FSIZE, setrlimit(2))."""
    bench.prepare()
    lines = bench.run(
        *("--file-size-most", 0, "--appends", 6, "--checkpoint-pages", checkpoint_pages)
    )
    refused = [line for line in lines if line.startswith("refused")]
    assert len(refused) >= 6
    assert all("nothing of this was kept" in line for line in refused)
    assert bench.ids() == kept_ids(lines)
    assert bench.rows("receipts") == 6


async def test_no_file_may_grow_while_others_are_told(bench, kept_ids):
    """What a receiver took cannot be written down either; it is told again, and all of it."""
    bench.prepare()
    receiver = Receiver()
    server = await asyncio.start_server(receiver.serve, "127.0.0.1", 0)
    url = f"http://127.0.0.1:{server.sockets[0].getsockname()[1]}/"
    try:
        options = ("--file-size-most", 0, "--appends", 6, "--checkpoint-pages", 8, "--tell", url)
        lines = await asyncio.to_thread(bench.run, *options)
    finally:
        server.close()
        await receiver.close()
    refused = [line for line in lines if line.startswith("refused")]
    assert len(refused) >= 6
    assert all("nothing of this was kept" in line for line in refused)
    assert bench.ids() == kept_ids(lines)
    assert list(dict.fromkeys(event["id"] for event in receiver.taken)) == bench.ids()
    with contextlib.closing(Outbox.open_to_read(bench.folder)) as outbox:
        assert outbox.depth("erp") == 0


@pytest.mark.parametrize("every", [43, 53, 67, 79])
def test_the_kernel_says_no_space_at_every_nth_write(bench, kept_ids, strace, every):
    """ENOSPC at another place of each append; with the sentence for a full disk."""
    bench.prepare()
    failing = f"inject=pwrite64:error=ENOSPC:when={every}+{every}"
    under = (strace, "-qq", "-o", "/dev/null", "-e", "trace=pwrite64", "-e", failing)
    lines = bench.run("--appends", 20, "--checkpoint-pages", 20, under=under)
    refused = [line for line in lines if line.startswith("refused")]
    assert len(refused) >= 2
    assert all("is full" in line for line in refused)
    assert bench.ids() == kept_ids(lines)
    assert bench.rows("receipts") == 20
