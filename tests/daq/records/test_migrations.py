"""A database of any earlier revision, with data in it, is brought up and is whole."""

from importlib import resources

import pytest
from alembic import command
from alembic.config import Config

from daq.head.record import GENESIS_HASH, Draft, EntryKind, canonical_json, sealed
from daq.records.base import Access
from daq.records.opening import database_of
from daq.records.rows import receipt_seal
from daq.records.schema import REVISIONS
from daq.records.signing import PUBLIC_FILE, public_keys
from daq.records.verify import verify
from daq.records.verify_store import verify_store
from tests.faults.flipping import TABLES

JOBS = ("job-1", "job-2")


def at_revision(make, folder, revision):
    """The tables as that revision made them."""
    database = database_of(folder, make.url(folder), Access.WRITE)
    with database.writing() as connection:
        config = Config()
        scripts = resources.files("daq.records") / "migrations"
        config.set_main_option("script_location", str(scripts).replace("%", "%%"))
        config.attributes["connection"] = connection
        command.upgrade(config, revision)
    database.close()


def entries_of(make, job):
    entries, previous = [], GENESIS_HASH
    drafts = [make.opening(job, f"{job} A"), make.note(job), make.note(job)]
    drafts.append(Draft(job, EntryKind.SIGNED, {"person": "invented"}))
    for number, draft in enumerate(drafts, 1):
        at = "2026-03-04T05:06:07.000Z"
        entry = sealed(draft, number=number, entry_id=make.new_id(), at=at, previous=previous)
        entries.append(entry)
        previous = entry.hash
    return entries


def fill_the_first(make, folder):
    """Rows as the first revision's program wrote them."""
    with make.plain(folder) as plain:
        mark = "?" if make.server is None else "%s"
        for job in JOBS:
            entries = entries_of(make, job)
            last = entries[-1]
            put(
                plain,
                mark,
                "jobs (id, number, opened_at, plan, last_number, last_hash)",
                (job, f"{job} A", last.at, "four-by-two", last.number, last.hash),
            )
            for e in entries:
                put(
                    plain,
                    mark,
                    "entries (job, number, id, at, kind, body, previous, hash)",
                    (job, e.number, e.id, e.at, e.kind, canonical_json(e.body), e.previous, e.hash),
                )
        receipt = ("key 1", "hash", 201, "{}", "job-1", '["id-1"]')
        put(plain, mark, "receipts (key, body_hash, status, answer, job, entries)", receipt)
    if make.server is None:
        plain.close()


def as_the_second_wrote(make, folder):
    """What the second revision's program wrote beside that; it signs when it opens them."""
    receipt = {"key": "key 1", "body_hash": "hash", "status": 201, "answer": "{}", "job": "job-1"}
    seal = receipt_seal({**receipt, "entries": '["id-1"]'})
    make.alter(
        folder,
        "UPDATE jobs SET last_cursor = (SELECT max(cursor) FROM entries WHERE job = jobs.id)",
        f"UPDATE receipts SET seal = '{seal}'",
    )


def put(plain, mark, into, values):
    signs = ", ".join([mark] * len(values))
    plain.execute(f"INSERT INTO {into} VALUES ({signs})", tuple(map(as_plain, values)))


def as_plain(value):
    return str(value) if isinstance(value, EntryKind) else value


@pytest.mark.parametrize("revision", REVISIONS[:-1])
def test_data_of_an_earlier_revision_is_whole_and_signed_after(make, tmp_path, revision):
    at_revision(make, tmp_path, revision)
    fill_the_first(make, tmp_path)
    if revision != "0001":
        as_the_second_wrote(make, tmp_path)
    with make.journal(tmp_path) as journal:
        keys = public_keys(tmp_path / PUBLIC_FILE)
        assert [(v.job, v.entries, v.findings) for v in verify(journal, keys)] == [
            (job, 4, ()) for job in JOBS
        ]
        assert verify_store(journal, keys) == []
        assert journal.receipt("key 1").entries == ("id-1",)
        found = journal.found("job four", "closed", before=None, limit=10)
        assert [(row.id, row.signed_at) for row in found] == [
            (job, "2026-03-04T05:06:07.000Z") for job in reversed(JOBS)
        ]
        journal.append([make.opening("job-3", "C 3")])
        assert [event.cursor for event in journal.events(0, 100)] == list(range(1, 10))
        assert verify_store(journal, keys) == []


def test_what_was_altered_before_is_not_signed(make, tmp_path):
    at_revision(make, tmp_path, "0001")
    fill_the_first(make, tmp_path)
    make.alter(tmp_path, "UPDATE jobs SET last_number = 7 WHERE id = 'job-1'")
    with make.journal(tmp_path) as journal:
        keys = public_keys(tmp_path / PUBLIC_FILE)
        assert [v.whole for v in verify(journal, keys)] == [False, True]


def test_every_table_is_looked_at():
    assert len(TABLES) == 8
