"""What the disk and the system say becomes a sentence that says what to do."""

import errno
import os
import sqlite3

import pytest

from daq.records import database
from daq.records.database import FILE_NAME, sentences
from daq.records.errors import AlteredError, DiskFullError, LockedError, RecordError

ON = ["sqlite"]


def test_a_file_where_the_folder_should_be(make, tmp_path):
    (tmp_path / "data").write_text("")
    with pytest.raises(RecordError, match="cannot be used as a data folder"):
        make.journal(tmp_path / "data")
    with pytest.raises(RecordError, match="cannot be used as a data folder"):
        make.journal(tmp_path / "data" / "deeper")


def test_a_folder_where_the_file_should_be(make, tmp_path):
    (tmp_path / FILE_NAME).mkdir()
    with pytest.raises(RecordError, match="cannot be opened"):
        make.journal(tmp_path)


def test_a_foreign_writer_is_waited_for_and_then_said(make, tmp_path, monkeypatch):
    monkeypatch.setattr(database, "BUSY_TIMEOUT_S", 0.05)
    with make.journal(tmp_path) as journal:
        journal.append([make.opening()])
        foreign = sqlite3.connect(tmp_path / FILE_NAME, isolation_level=None)
        foreign.execute("BEGIN IMMEDIATE")
        with pytest.raises(LockedError, match="Another program holds"):
            journal.append([make.note()])
        assert len(journal.record("job-1").entries) == 1
        foreign.execute("ROLLBACK")
        foreign.close()
        journal.append([make.note()])
        assert len(journal.record("job-1").entries) == 2


def test_a_file_that_may_not_be_written(make, tmp_path, monkeypatch):
    """As root no permission stops a write, so SQLite is told to see the file as read-only."""
    make.journal(tmp_path).close()
    real = sqlite3.connect

    def read_only(name, **options):
        return real(name.replace("mode=rwc", "mode=ro"), **options)

    monkeypatch.setattr(database.sqlite3, "connect", read_only)
    with make.journal(tmp_path) as journal, pytest.raises(RecordError, match="may not be written"):
        journal.append([make.opening()])


def test_a_disk_that_cannot_write_ahead(make, tmp_path, monkeypatch):
    """A network drive answers the question for the mode with another one; so does memory."""
    real = sqlite3.connect
    monkeypatch.setattr(database.sqlite3, "connect", lambda _uri, **_: real(":memory:"))
    with pytest.raises(RecordError, match=r"write-ahead mode.*disk of this machine"):
        make.journal(tmp_path)
    monkeypatch.undo()
    make.journal(tmp_path).close()  # and the folder was let go


def test_a_damaged_page_is_said_when_it_is_read(make, tmp_path):
    with make.journal(tmp_path) as journal:
        journal.append([make.opening(), *(make.note(said="2" * 500) for _ in range(100))])
    file = tmp_path / FILE_NAME
    content = bytearray(file.read_bytes())
    for page in range(30, len(content) // 4096):
        content[page * 4096 : page * 4096 + 8] = b"\xff" * 8
    file.write_bytes(content)
    with (
        make.journal(tmp_path) as journal,
        pytest.raises(AlteredError, match=r"is damaged.*backup"),
    ):
        journal.record("job-1")


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EDQUOT])
def test_no_room_for_the_folder_is_a_full_disk(tmp_path, code):
    with pytest.raises(DiskFullError, match="no room"), sentences(tmp_path):
        raise OSError(code, os.strerror(code), "somewhere")


def test_the_sentence_names_the_file(tmp_path):
    with pytest.raises(RecordError, match=str(tmp_path)), sentences(tmp_path):
        raise sqlite3.OperationalError("something new")
