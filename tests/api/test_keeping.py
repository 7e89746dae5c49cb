"""Backup while the bench writes, restore, retention, and jobs of another bench."""

import hashlib
import threading
from datetime import datetime, timedelta

import pytest

from api.keeping import DAYS_A_YEAR, KeepingError, back_up, put_back, remove_old, take_over
from daq.head.errors import ConflictError
from daq.head.record import Draft, EntryKind
from daq.records.errors import RecordError
from daq.records.records import Records
from daq.records.signing import KEY_FILE, PUBLIC_FILE, public_keys
from daq.records.verify import verify
from daq.records.verify_store import verify_store
from tests.daq.records.conftest import Maker


@pytest.fixture
def make():
    return Maker()


def close_a_job(journal, make, job, packed):
    body = {"value": "0.012", "trace_sha256": hashlib.sha256(packed).hexdigest()}
    journal.append([make.opening(job, job), Draft(job, EntryKind.KEPT, body, packed)])
    journal.append([Draft(job, EntryKind.SIGNED, {"person": "invented"})])


def is_whole(records, folder):
    keys = public_keys(folder / PUBLIC_FILE)
    found = [f for verdict in verify(records, keys) for f in verdict.findings]
    return [*found, *verify_store(records, keys)] == []


def test_a_copy_made_while_the_bench_writes_is_whole(make, tmp_path):
    folder, stop = tmp_path / "data", threading.Event()
    with make.journal(folder) as journal:
        journal.append([make.opening()])

        def write():
            while not stop.is_set():
                journal.append([make.note()])

        writer = threading.Thread(target=write)
        writer.start()
        try:
            for number in range(3):
                (said,) = back_up(folder, tmp_path / f"copy-{number}")
                assert "whole and unaltered" in said
        finally:
            stop.set()
            writer.join()
        told = journal.record("job-1").entries
    counts = []
    for number in range(3):
        with Records.open_to_read(tmp_path / f"copy-{number}") as records:
            entries = records.record("job-1").entries
            assert entries == told[: len(entries)]
            counts.append(len(entries))
    assert counts == sorted(counts)
    assert (tmp_path / "copy-0" / KEY_FILE).stat().st_mode & 0o777 == 0o600


def test_a_backup_is_put_back_and_goes_on(make, tmp_path):
    folder, copy, new = tmp_path / "data", tmp_path / "copy", tmp_path / "new"
    with make.journal(folder) as journal:
        close_a_job(journal, make, "job-1", b"trace")
        list(back_up(folder, copy))
        with pytest.raises(RecordError, match="is there already"):
            list(back_up(folder, copy))
        with pytest.raises(KeepingError, match="holds records already"):
            list(put_back(copy, folder))
    list(put_back(copy, new))
    with make.journal(new) as journal:
        close_a_job(journal, make, "job-2", b"another")
        assert is_whole(journal, new)
        assert journal.trace(hashlib.sha256(b"trace").hexdigest()) == b"trace"


def test_an_altered_backup_is_not_put_back(make, tmp_path):
    with make.journal(tmp_path / "data") as journal:
        close_a_job(journal, make, "job-1", b"trace")
        list(back_up(tmp_path / "data", tmp_path / "copy"))
    make.alter(tmp_path / "copy", "UPDATE jobs SET number = 'B'")
    with pytest.raises(RecordError, match="are not whole"):
        list(put_back(tmp_path / "copy", tmp_path / "new"))


def test_only_old_closed_jobs_go_and_only_when_told(make, tmp_path):
    with make.journal(tmp_path) as journal:
        close_a_job(journal, make, "job-1", b"one")
        close_a_job(journal, make, "job-2", b"two")
        journal.append([make.opening("job-3", "job-3")])
        middle = journal.record("job-1").entries[-1].at
    # Two years and half a second after the first job was closed; the clock ticks in seconds.
    now = datetime.fromisoformat(middle) + timedelta(days=2 * DAYS_A_YEAR, seconds=0.5)
    shown = list(remove_old(tmp_path, None, 2.0, "kept for two years", now, do_it=False))
    assert shown[-1].startswith("1 jobs; with --do-it")
    gone = list(remove_old(tmp_path, None, 2.0, "kept for two years", now, do_it=True))
    assert gone[0].startswith("job job-1 (job-1)")
    with Records.open_to_read(tmp_path) as records:
        assert [row.id for row in records.jobs()] == ["job-3", "job-2"]
        assert is_whole(records, tmp_path)


def test_the_closed_jobs_of_another_bench_come_in_as_they_are(make, tmp_path):
    ours, theirs = tmp_path / "ours", tmp_path / "theirs"
    with make.journal(theirs) as journal:
        close_a_job(journal, make, "job-1", b"one")
        journal.append([make.opening("job-2", "job-2")])
        record = journal.record("job-1")
    with make.journal(ours) as journal:
        close_a_job(journal, make, "job-9", b"one")  # the same trace
    key = theirs / PUBLIC_FILE
    said = list(take_over(theirs, key, ours, None))
    assert said == [
        "job job-1 (job-1): taken over",
        "job job-2 (job-2): left out: it is not closed",
    ]
    assert "was here already" in next(iter(take_over(theirs, key, ours, None)))
    with make.journal(ours) as journal:
        assert journal.record("job-1") == record  # with its own signature
        assert is_whole(journal, ours)
        close_a_job(journal, make, "job-10", b"ten")
        assert is_whole(journal, ours)


def test_what_another_key_signed_or_another_job_holds_is_left_out(make, tmp_path):
    ours, theirs, others = tmp_path / "ours", tmp_path / "theirs", tmp_path / "others"
    for folder in (ours, theirs, others):
        with make.journal(folder) as journal:
            close_a_job(journal, make, "job-1", folder.name.encode())
    (said,) = take_over(theirs, others / PUBLIC_FILE, ours, None)
    assert "left out" in said
    with pytest.raises(ConflictError, match="another job has the id"):
        list(take_over(theirs, theirs / PUBLIC_FILE, ours, None))
