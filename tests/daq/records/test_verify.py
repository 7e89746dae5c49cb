"""Whatever is altered in the file is found, by `record`, by `trace` or by `verify`."""

import contextlib
import hashlib
import shutil
import sqlite3

import pytest

from daq.head.errors import ConflictError, UnknownError
from daq.head.record import Draft, EntryKind, canonical_json, sealed
from daq.records.chain import Fault
from daq.records.database import FILE_NAME
from daq.records.errors import AlteredError
from daq.records.records import Records
from daq.records.signing import PUBLIC_FILE, Signer, public_keys
from daq.records.verify import verify
from daq.records.verify_store import verify_store


@pytest.fixture
def folder(closed, tmp_path):
    """A copy of them to alter."""
    return shutil.copytree(closed, tmp_path / "copy")


def alter(folder, *queries):
    """What somebody with the file and some knowledge can do."""
    plain = sqlite3.connect(folder / FILE_NAME)
    plain.execute("PRAGMA foreign_keys = OFF")
    for (trigger,) in plain.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'"):
        plain.execute(f"DROP TRIGGER {trigger}")
    for query in queries:
        assert plain.execute(*query).rowcount > 0, query
    plain.commit()
    plain.close()


def keys_in(folder):
    return public_keys(folder / PUBLIC_FILE)


def found(folder):
    with Records.open_to_read(folder) as records:
        try:
            found = [f for verdict in verify(records, keys_in(folder)) for f in verdict.findings]
            found += verify_store(records, keys_in(folder))
            return [(f.job, f.number, f.fault) for f in found]
        except AlteredError:  # the list of jobs itself cannot be read
            return [("", None, Fault.ALTERED)]


def test_an_unaltered_file_is_whole(folder):
    with Records.open_to_read(folder) as records:
        verdicts = list(verify(records, keys_in(folder)))
        for verdict in verdicts:
            record = records.record(verdict.job)
            assert (verdict.entries, verdict.hash) == (4, record.entries[-1].hash)
    assert [(v.job, v.number, v.signed, v.whole) for v in verdicts] == [
        ("job-1", "A 100", True, True),
        ("job-2", "B 200", True, True),
    ]


# Numbers that SQLite takes as the key of a row are altered in test_flipped.py.
COLUMNS = {
    "jobs": (
        *("id", "number", "opened_at", "plan", "last_number", "last_hash", "last_cursor"),
        *("key", "signature"),
    ),
    "entries": ("job", "number", "id", "at", "kind", "body", "previous", "hash"),
    "traces": ("sha256", "packed"),
}
CHANGES = {
    "longer": "{0} || ' '",
    "shorter": "substr({0}, 2)",
    "text": "'?'",
    "number": "7",
    "blob": "CAST({0} AS BLOB)",
    "not utf-8": "CAST(x'C328' AS TEXT)",
    "deep": "'" + "[" * 100_000 + "'",
}


# The column takes these back to what was there: an integer with a space behind it, a blob as blob.
UNCHANGED = {
    ("entries", "number", "longer"),
    ("jobs", "last_number", "longer"),
    ("jobs", "last_cursor", "longer"),
    ("traces", "packed", "blob"),
}


@pytest.mark.parametrize("change", CHANGES)
@pytest.mark.parametrize(
    ("table", "column"), [(table, name) for table, names in COLUMNS.items() for name in names]
)
def test_any_altered_column_is_found(folder, tmp_path, table, column, change):
    rows = len(stored(folder, table, column))
    assert rows == (8 if table == "entries" else 2)
    if (table, column, change) in UNCHANGED:
        with pytest.raises(AssertionError):
            altered_copy(folder, tmp_path, table, column, change, 1)
        return
    numbers = row_numbers(folder, table)
    for row in {numbers[0], numbers[1], numbers[-1]}:  # the first, one between, the last
        altered = altered_copy(folder, tmp_path, table, column, change, row)
        assert found(altered), (table, column, row)


def altered_copy(folder, tmp_path, table, column, change, row):
    copy = tmp_path / f"row-{row}"
    shutil.copytree(folder, copy)
    query = f"UPDATE {table} SET {column} = {CHANGES[change].format(column)} WHERE rowid = ?"
    alter(copy, (query, (row,)))
    assert stored(copy, table, column) != stored(folder, table, column)
    return copy


def row_numbers(folder, table):
    with contextlib.closing(sqlite3.connect(folder / FILE_NAME)) as plain:
        return [row for (row,) in plain.execute(f"SELECT rowid FROM {table} ORDER BY rowid")]


def stored(folder, table, column):
    """The column as bytes with their types, in the order of the rows."""
    plain = sqlite3.connect(folder / FILE_NAME)
    query = f"SELECT typeof({column}), hex({column}) FROM {table} ORDER BY rowid"
    found = plain.execute(query).fetchall()
    plain.close()
    return found


def test_every_swap_of_two_entries_is_found(folder, tmp_path):
    for first, second in ((1, 2), (2, 3), (1, 4), (3, 4)):
        altered = tmp_path / f"{first}-{second}"
        shutil.copytree(folder, altered)
        move = "UPDATE entries SET number = ? WHERE job = 'job-1' AND number = ?"
        alter(altered, (move, (99, first)), (move, (first, second)), (move, (second, 99)))
        assert {job for job, _, _ in found(altered)} == {"job-1"}


def test_a_moved_cursor_is_found(folder):
    alter(folder, ("UPDATE entries SET cursor = 100 WHERE job = 'job-1' AND number = 2",))
    assert ("job-1", 3, Fault.REORDERED) in found(folder)
    assert ("", None, Fault.MISSING) in found(folder)


@pytest.mark.parametrize("number", [1, 2, 3])
def test_a_missing_entry_is_found(folder, number):
    alter(folder, ("DELETE FROM entries WHERE job = 'job-1' AND number = ?", (number,)))
    assert ("job-1", number, Fault.MISSING) in found(folder)


def test_a_cut_off_end_is_found_against_the_index(folder):
    alter(folder, ("DELETE FROM entries WHERE job = 'job-1' AND number > 2",))
    assert ("job-1", 2, Fault.CUT_OFF) in found(folder)
    assert ("job-1", 2, Fault.SIGNATURE) in found(folder)


def test_a_removed_job_is_found_by_its_entries(folder):
    alter(folder, ("DELETE FROM jobs WHERE id = 'job-1'",))
    assert ("job-1", None, Fault.INDEX) in found(folder)


def test_a_whole_job_that_is_gone_is_missed_by_its_number_and_its_cursors(folder):
    alter(
        folder,
        ("DELETE FROM entries WHERE job = 'job-2'",),
        ("DELETE FROM jobs WHERE id = 'job-2'",),
    )
    with Records.open_to_read(folder) as records:
        said = [finding.text for finding in verify_store(records, keys_in(folder))]
    assert len(said) == 1
    assert said[0].startswith("3 jobs were opened, 1 are there and 1 were removed")


def test_a_removed_job_leaves_what_was_signed_and_nothing_else(folder):
    with contextlib.closing(sqlite3.connect(folder / FILE_NAME)) as plain:
        kept = plain.execute("SELECT job, entries, cursors, reason FROM tombstones").fetchall()
        assert plain.execute("SELECT count(*) FROM entries WHERE job = 'job-3'").fetchone() == (0,)
    assert kept == [("job-3", 4, "5-8", "kept for ten years")]
    assert found(folder) == []


def test_only_a_closed_job_can_be_removed_and_its_id_is_never_used_again(make, tmp_path):
    with make.journal(tmp_path) as journal:
        journal.append([make.opening()])
        with pytest.raises(ConflictError, match="not closed"):
            journal.remove("job-1", "a reason")
        journal.append([Draft("job-1", EntryKind.SIGNED, {"person": "invented"})])
        last = journal.events(0, 10)[-1].cursor
        journal.remove("job-1", "a reason")
        with pytest.raises(ConflictError, match="was here once"):
            journal.append([make.opening()])
        journal.append([make.opening("job-2", "B 2")])
        assert journal.events(0, 10)[0].cursor == last + 1
        with pytest.raises(UnknownError):
            journal.record("job-1")
        keys = keys_in(tmp_path)
        assert verify_store(journal, keys) == []
        assert [verdict.whole for verdict in verify(journal, keys)] == [True]


def test_signed_by_another_key_is_found(folder, tmp_path):
    with Records.open_to_read(folder) as records:
        keys = public_keys_of_another(tmp_path)
        said = {f.fault for verdict in verify(records, keys) for f in verdict.findings}
        assert said == {Fault.SIGNATURE}
        assert len(verify_store(records, keys)) == 2


def public_keys_of_another(folder):
    (folder / "another").mkdir()
    Signer.in_folder(folder / "another")
    return keys_in(folder / "another")


def test_a_missing_and_an_altered_trace_are_found_and_never_handed_out(folder):
    alter(
        folder,
        ("UPDATE traces SET packed = x'00' WHERE sha256 = ?", (sha256("trace of job-1"),)),
        ("DELETE FROM traces WHERE sha256 = ?", (sha256("trace of job-2"),)),
    )
    assert found(folder) == [
        ("job-1", 2, Fault.TRACE_ALTERED),
        ("job-2", 2, Fault.TRACE_MISSING),
    ]
    with (
        Records.open_to_read(folder) as records,
        pytest.raises(AlteredError, match="was altered"),
    ):
        records.trace(sha256("trace of job-1"))


def test_an_altered_record_is_not_shown_and_its_events_are_not_told(folder):
    alter(
        folder,
        ("UPDATE entries SET body = replace(body, '0.012', '0.002') WHERE job = 'job-2'",),
    )
    with Records.open_to_read(folder) as records:
        assert len(records.record("job-1").entries) == 4
        with pytest.raises(AlteredError, match=r"job-2 .* entry 2 of the record was altered"):
            records.record("job-2")
        with pytest.raises(AlteredError, match="Entry 2 of job job-2"):
            records.events(0, 100)


def test_an_entry_written_anew_with_a_hash_of_its_own_is_found_by_the_next(folder):
    with Records.open_to_read(folder) as records:
        kept = records.record("job-1").entries[1]
    body = {**kept.body, "value": "0.002"}
    draft = Draft("job-1", kept.kind, body)
    anew = sealed(draft, number=2, entry_id=kept.id, at=kept.at, previous=kept.previous)
    query = "UPDATE entries SET body = ?, hash = ? WHERE id = ?"
    alter(folder, (query, (canonical_json(body), anew.hash, kept.id)))
    assert found(folder) == [("job-1", 3, Fault.ALTERED)]


def test_the_same_body_spelt_otherwise_is_found(folder):
    alter(folder, ("UPDATE entries SET body = replace(body, ',', ', ') WHERE id = 'id-2'",))
    assert found(folder) == [("job-1", 2, Fault.ALTERED)]


def test_a_damaged_file_is_said(folder):
    file = folder / FILE_NAME
    content = bytearray(file.read_bytes())
    middle = len(content) // 2 // 4096 * 4096
    content[middle : middle + 4096] = b"\xff" * 4096
    file.write_bytes(content)
    with Records.open_to_read(folder) as records:
        assert records.damage()


def sha256(text):
    return hashlib.sha256(text.encode()).hexdigest()
