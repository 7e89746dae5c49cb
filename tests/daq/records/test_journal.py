"""Appending: one transaction, chained, on the disk before it returns, and refused in whole."""

import contextlib
import hashlib
import math
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from daq.head.errors import ConflictError, RefusedError, UnknownError
from daq.head.plan import shipped_plans
from daq.head.record import GENESIS_HASH, Draft, EntryKind, is_whole
from daq.records.errors import AlteredError, KeyUsedError, RecordError
from daq.records.rows import Receipt


def traced(packed=b"packed trace", *, named=None, job="job-1"):
    sha256 = hashlib.sha256(packed).hexdigest() if named is None else named
    return Draft(job, EntryKind.KEPT, {"value": "0.012", "trace_sha256": sha256}, packed)


def test_entries_are_numbered_and_chained_within_their_job(journal, make):
    first = journal.append([make.opening("a"), make.note("a")])
    other = journal.append([make.opening("b", "B 2")])
    last = journal.append([make.note("a"), make.note("b")])
    chain_a, chain_b = [*first, last[0]], [*other, last[1]]
    for chain in (chain_a, chain_b):
        previous = GENESIS_HASH
        for number, entry in enumerate(chain, 1):
            assert entry.number == number
            assert is_whole(entry, previous=previous)
            previous = entry.hash
    assert journal.record("a").entries == tuple(chain_a)
    assert journal.record("b").entries == tuple(chain_b)


def test_the_stamp_is_utc_with_milliseconds(journal, make):
    (entry,) = journal.append([make.opening()])
    assert entry.at == "2026-03-04T05:06:07.000Z"


def test_a_commit_is_durable_by_its_settings(journal, make):
    """synchronous 2 is FULL, https://www.sqlite.org/pragma.html#pragma_synchronous; on means that
    the server waits for its disk, https://www.postgresql.org/docs/15/runtime-config-wal.html."""
    if make.server is not None:
        with journal._database.engine.connect() as connection:
            assert connection.exec_driver_sql("SHOW synchronous_commit").scalar() == "on"
        return
    with journal._database.engine.connect() as connection:
        said = connection.exec_driver_sql
        assert said("PRAGMA journal_mode").scalar() == "wal"
        assert said("PRAGMA synchronous").scalar() == 2
        assert said("PRAGMA foreign_keys").scalar() == 1


def test_an_entry_told_is_there_for_another_program(journal, make, tmp_path):
    journal.append([make.opening(), make.note()])
    with contextlib.closing(make.plain(tmp_path / "data")) as plain:
        assert plain.execute("SELECT count(*) FROM entries").fetchone() == (2,)


def test_nothing_of_an_append_stands_when_a_part_of_it_is_refused(journal, make):
    journal.append([make.opening()])
    before = journal.record("job-1")
    with pytest.raises(UnknownError, match="no job 'nowhere'"):
        journal.append([make.note(), traced(), make.note("nowhere")], Receipt("k", "h", 201))
    assert journal.record("job-1") == before
    assert journal.receipt("k") is None
    with pytest.raises(UnknownError):
        journal.trace(hashlib.sha256(b"packed trace").hexdigest())
    assert len(journal.append([make.note()])) == 1


def test_a_job_is_opened_once_and_first(journal, make):
    with pytest.raises(UnknownError, match="no job 'job-1'"):
        journal.append([make.note()])
    journal.append([make.opening()])
    with pytest.raises(ConflictError, match="open already"):
        journal.append([make.opening()])
    assert len(journal.record("job-1").entries) == 1


@pytest.mark.parametrize(
    "value", [0.5, math.nan, "half a letter: \ud800", {1, 2}], ids=["float", "nan", "text", "set"]
)
def test_what_could_not_be_read_back_as_it_was_is_refused(journal, make, value):
    journal.append([make.opening()])
    with pytest.raises(RefusedError, match="nothing was kept"):
        journal.append([Draft("job-1", EntryKind.KEPT, {"value": value})])
    assert len(journal.record("job-1").entries) == 1


def test_a_trace_is_kept_under_the_hash_that_the_entry_names(journal, make):
    draft = traced()
    journal.append([make.opening(), draft])
    assert journal.trace(draft.body["trace_sha256"]) == b"packed trace"


def test_the_same_trace_twice_is_kept_once(journal, make):
    journal.append([make.opening(), traced(), traced()])
    journal.append([traced()])
    assert len(journal.record("job-1").entries) == 4


def test_a_trace_under_another_hash_is_not_kept(journal, make):
    journal.append([make.opening()])
    with pytest.raises(RecordError, match="does not have the hash"):
        journal.append([traced(named="0" * 64)])
    with pytest.raises(RecordError, match="is not there"):
        journal.append([replace(traced(), trace=None)])
    assert len(journal.record("job-1").entries) == 1


def test_an_entry_may_name_a_trace_that_is_there(journal, make):
    journal.append([make.opening(), traced()])
    journal.append([replace(traced(), trace=None)])
    assert len(journal.record("job-1").entries) == 3


def test_a_receipt_stands_with_what_was_written_under_it(journal, make):
    opened = journal.append([make.opening()], Receipt("key 1", "hash 1", 201, '{"a":"b"}'))
    assert journal.receipt("key 1") == Receipt(
        "key 1", "hash 1", 201, '{"a":"b"}', "job-1", (opened[0].id,)
    )
    assert journal.receipt("key 2") is None


def test_a_key_is_used_once(journal, make):
    journal.append([make.opening()], Receipt("key 1", "hash 1", 201))
    with pytest.raises(KeyUsedError, match="'key 1' was used"):
        journal.append([make.note()], Receipt("key 1", "hash 1", 201))
    assert len(journal.record("job-1").entries) == 1


def test_a_plan_added_again_replaces_what_new_jobs_get(journal, make):
    plan = shipped_plans()["four-by-two"]
    journal.append([make.opening()])
    journal.add_plan(plan)
    journal.add_plan(plan.model_copy(update={"title": "Another title"}))
    assert [kept.title for kept in journal.plans()] == ["Another title"]
    assert journal.record("job-1").plan == plan


def test_the_database_itself_refuses_to_change_or_remove_what_was_written(journal, make):
    journal.append([make.opening(), traced()])
    for query in (
        "UPDATE entries SET body = '{}'",
        "DELETE FROM entries",
        "UPDATE traces SET packed = NULL",
        "DELETE FROM traces",
    ):
        with (
            pytest.raises(Exception, match="append-only"),
            journal._database.engine.begin() as connection,
        ):
            connection.exec_driver_sql(query)
    assert len(journal.record("job-1").entries) == 2


def test_everything_is_there_after_closing_and_opening(make, tmp_path):
    with make.journal(tmp_path) as journal:
        journal.append([make.opening(), make.note()])
        before = journal.record("job-1")
    with make.journal(tmp_path) as journal:
        assert journal.record("job-1") == before
        (entry,) = journal.append([make.note()])
        assert entry.number == 3
        assert is_whole(entry, previous=before.entries[-1].hash)


def test_a_chain_that_moved_under_the_journal_is_noticed_and_taken_up_again(
    journal, make, tmp_path
):
    """Somebody with another program and the same tables."""
    journal.append([make.opening()])
    make.alter(tmp_path / "data", "UPDATE jobs SET last_number = 7, last_hash = 'ab'")
    with pytest.raises(RecordError, match=r"end of job job-1 moved.*Another program"):
        journal.append([make.note()])
    (entry,) = journal.append([make.note()])
    assert (entry.number, entry.previous) == (8, "ab")
    with pytest.raises(AlteredError):
        journal.record("job-1")


TEXTS = st.text(st.characters(codec="utf-8"), max_size=20)
BODIES = st.dictionaries(
    TEXTS,
    st.recursive(
        st.none() | st.booleans() | st.integers(-(10**30), 10**30) | TEXTS,
        lambda deeper: st.lists(deeper, max_size=3) | st.dictionaries(TEXTS, deeper, max_size=3),
        max_leaves=8,
    ),
    max_size=5,
)
KINDS = st.sampled_from([kind for kind in EntryKind if kind is not EntryKind.JOB_OPENED])
STEPS = st.lists(
    st.tuples(st.integers(0, 2), KINDS, BODIES, st.none() | st.binary(max_size=60)), max_size=12
)


@settings(
    max_examples=50, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(steps=STEPS, cut=st.integers(1, 4))
def test_what_is_appended_is_what_is_read(journal, make, tmp_path, steps, cut):
    """Any drafts, in batches of any size: the record read back is the one that was told."""
    jobs = [make.new_id() for _ in range(3)]  # one journal for all examples, its own jobs in each
    told = {job: list(journal.append([make.opening(job)])) for job in jobs}
    drafts = [as_draft(jobs[job], kind, body, packed) for job, kind, body, packed in steps]
    for start in range(0, len(drafts), cut):
        for entry in journal.append(drafts[start : start + cut]):
            told[entry.job].append(entry)
    for job, entries in told.items():
        assert [entry.body for entry in entries[1:]] == [
            draft.body for draft in drafts if draft.job == job
        ]
        with make.reader(tmp_path / "data") as records:
            assert records.record(job).entries == tuple(entries)
    for draft in drafts:
        if draft.trace is not None:
            assert journal.trace(draft.body["trace_sha256"]) == draft.trace


def as_draft(job, kind, body, packed):
    body = {name: value for name, value in body.items() if name != "trace_sha256"}
    if packed is not None:
        body["trace_sha256"] = hashlib.sha256(packed).hexdigest()
    return Draft(job, kind, body, packed)
