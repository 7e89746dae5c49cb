"""Reading: jobs found, events in order, and a reader beside a writer."""

import threading

import pytest

from daq.head.errors import ConflictError, UnknownError
from daq.head.record import Draft, EntryKind
from daq.records.errors import RecordError
from daq.records.records import Records
from daq.records.rows import JobRow


@pytest.fixture
def three(journal, make):
    journal.append([make.opening("job-1", "A 100")])
    journal.append([make.opening("job-2", "B 200"), make.note("job-2")])
    journal.append([make.opening("job-3", "A 100")])
    return journal


def test_jobs_are_listed_newest_first(three):
    assert [row.id for row in three.jobs()] == ["job-3", "job-2", "job-1"]
    assert [row.id for row in three.jobs(limit=2)] == ["job-3", "job-2"]
    assert [row.id for row in three.jobs(number="A 100")] == ["job-3", "job-1"]
    assert three.jobs(number="C") == []


def test_a_row_says_where_the_chain_ends(three):
    record = three.record("job-2")
    assert three.jobs(number="B 200") == [
        JobRow("job-2", "B 200", record.entries[0].at, "four-by-two", 2, record.entries[-1].hash)
    ]


def test_a_job_is_found_by_number_or_id(three):
    assert three.find("B 200") == "job-2"
    assert three.find("job-3") == "job-3"
    with pytest.raises(UnknownError, match="no job with the number or id 'Z'"):
        three.find("Z")
    with pytest.raises(ConflictError, match=r"2 jobs have the number 'A 100'.*job-1, job-3"):
        three.find("A 100")


def test_an_id_comes_before_a_number_that_reads_the_same(three, make):
    three.append([make.opening("job-4", "job-1")])
    assert three.find("job-1") == "job-1"


def test_an_unknown_job_or_trace_is_said(three):
    with pytest.raises(UnknownError, match="no job 'job-9'"):
        three.record("job-9")
    with pytest.raises(UnknownError, match="no trace with the hash 'ff'"):
        three.trace("ff")


def test_events_come_in_the_order_of_writing_and_go_on_behind_a_cursor(three, make):
    told = three.events(0, 100)
    assert [(event.entry.job, event.entry.number) for event in told] == [
        ("job-1", 1),
        ("job-2", 1),
        ("job-2", 2),
        ("job-3", 1),
    ]
    cursors = [event.cursor for event in told]
    assert cursors == sorted(set(cursors))
    assert three.events(cursors[1], 1) == told[2:3]
    assert three.events(cursors[-1], 100) == []
    (entry,) = three.append([make.note("job-1")])
    assert [event.entry for event in three.events(cursors[-1], 100)] == [entry]


def test_an_event_carries_the_names_of_its_job_and_what_it_voids(three, make):
    opening = make.opening("job-4", "D 400")
    opening = Draft("job-4", opening.kind, {**opening.body, "head_serial": "H-0815"})
    (_, kept, _) = three.append(
        [opening, Draft("job-4", EntryKind.KEPT, {"value": "1"}), make.note("job-4")]
    )
    body = {"measurement_id": kept.id, "reason": "slipped", "person": None}
    three.append([Draft("job-4", EntryKind.VOIDED, body)])
    told = three.events(0, 100)
    by_job = {event.entry.job: event.job for event in told}
    assert by_job["job-4"] == ("D 400", "H-0815", "four-by-two")
    assert by_job["job-1"] == ("A 100", None, "four-by-two")
    assert [event.voided for event in told[-4:]] == [None, None, None, kept]
    # The opening may lie far behind the cursor, and another reader has not seen it yet.
    last = three.events(told[-2].cursor, 1)
    assert last == told[-1:]


@pytest.mark.parametrize("after", [-5, 2**63, 10**40])
def test_a_cursor_may_be_any_number(three, after):
    assert len(three.events(after, 100)) == (4 if after < 0 else 0)


def test_a_cursor_is_never_given_twice_even_when_a_write_failed(three, make):
    last = three.events(0, 100)[-1].cursor
    with pytest.raises(UnknownError):
        three.append([make.note("job-1"), make.note("nowhere")])
    three.append([make.note("job-1")])
    assert three.events(last, 10)[0].cursor > last


def test_a_reader_reads_while_the_bench_writes(three, make, tmp_path):
    with make.reader(tmp_path / "data") as records:
        assert len(records.record("job-2").entries) == 2
        three.append([make.note("job-2")])
        assert records.record("job-2") == three.record("job-2")
        assert not hasattr(records, "append")


def test_a_reader_cannot_write(three, make, tmp_path):
    with (
        make.reader(tmp_path / "data") as records,
        pytest.raises(Exception, match=r"read-?only"),
        records._database.engine.begin() as connection,
    ):
        connection.exec_driver_sql("DELETE FROM jobs")


def test_a_reader_reads_what_a_closed_bench_left(make, tmp_path):
    with make.journal(tmp_path) as journal:
        journal.append([make.opening()])
        record = journal.record("job-1")
    with make.reader(tmp_path) as records:
        assert records.record("job-1") == record
        assert records.damage() == []


def test_a_folder_without_records_is_said_and_left_alone(tmp_path):
    with pytest.raises(RecordError, match="There are no records in"):
        Records.open_to_read(tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_threads_wait_for_each_other(three, make):
    """The run loop writes from one thread while a health check asks from another."""
    troubles = []

    def ask(what):
        try:
            for _ in range(50):
                what()
        except Exception as error:  # noqa: BLE001
            troubles.append(error)

    threads = [
        threading.Thread(target=ask, args=(lambda: three.append([make.note("job-1")]),)),
        threading.Thread(target=ask, args=(lambda: three.record("job-1"),)),
        threading.Thread(target=ask, args=(lambda: three.events(0, 10),)),
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert troubles == []
    assert len(three.record("job-1").entries) == 51
