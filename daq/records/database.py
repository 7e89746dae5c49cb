"""The SQLite file of a data folder: how it is opened, and its troubles as sentences."""

import contextlib
import errno
import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path

from sqlalchemy import Connection, QueuePool, create_engine, text
from sqlalchemy.exc import DBAPIError

from daq.records.base import Access, Database
from daq.records.errors import (
    AlteredError,
    DiskFullError,
    LockedError,
    RecordError,
    SchemaError,
)

FILE_NAME = "bench.sqlite3"
# How long a write waits for a foreign program that holds the file, before it is a sentence.
BUSY_TIMEOUT_S = 5.0
_MODES = {Access.READ: "ro", Access.WRITE: "rwc", Access.BESIDE: "rw"}
# SQLite's "primary result codes": the low byte of what it answers.
_PRIMARY = 0xFF


class SqliteFile(Database):
    """The SQLite file `file`, over one connection; a second thread that asks waits its turn.

    WRITE: create the file if need be, in write-ahead mode; every commit is on the disk when it
    returns (synchronous = FULL). READ: nothing in the file can be changed.
    """

    def __init__(self, file: Path, access: Access) -> None:
        engine = create_engine(
            "sqlite://",
            creator=lambda: _connected(file, access),
            poolclass=QueuePool,
            pool_size=1,
            max_overflow=0,
        )
        super().__init__(engine, str(file))
        self.file = file

    def sentences(self) -> contextlib.AbstractContextManager[None]:
        """See Database."""
        return sentences(self.file)

    def begin_reading(self, connection: Connection) -> None:
        """See Database."""
        connection.exec_driver_sql("BEGIN")

    def begin_writing(self, connection: Connection) -> None:
        """IMMEDIATE: a foreign writer is waited for before the first row, not found at the last."""
        # Said here and not by a listener of the engine: listeners cost a third of an append.
        connection.exec_driver_sql("BEGIN IMMEDIATE")

    def damage(self, connection: Connection) -> list[str]:
        """What SQLite finds wrong with the file."""
        found = connection.execute(text("PRAGMA integrity_check(20)")).scalars().all()
        return [] if found == ["ok"] else list(found)


def _connected(file: Path, access: Access) -> sqlite3.Connection:
    connection = sqlite3.connect(
        # as_uri escapes what a URI needs escaped, so a folder may be named anything.
        f"{file.absolute().as_uri()}?mode={_MODES[access]}",
        uri=True,
        timeout=BUSY_TIMEOUT_S,
        # The driver's own idea of when a transaction begins splits changes of the tables into
        # several; ours begin in `Database.reading` and `writing` and nowhere else.
        isolation_level=None,
        # The pool hands it to one thread at a time.
        check_same_thread=False,
    )
    try:
        connection.execute("PRAGMA foreign_keys = ON")
        if access is Access.WRITE:
            _write_ahead(connection, file)
        elif access is Access.BESIDE:
            connection.execute("PRAGMA synchronous = NORMAL")  # in write-ahead mode: no fsync
    except BaseException:
        connection.close()
        raise
    return connection


def _write_ahead(connection: sqlite3.Connection, file: Path) -> None:
    (mode,) = connection.execute("PRAGMA journal_mode = WAL").fetchone()
    if mode != "wal":
        raise RecordError(
            f"{file} cannot be kept in write-ahead mode, as is usual on network drives; choose a "
            "data folder on a disk of this machine."
        )
    connection.execute("PRAGMA synchronous = FULL")


def make_folder(folder: Path) -> None:
    """Make `folder` and what lies above it, so that it is there after a power cut as well.

    A new name is on the disk once the folder that holds it is synced (fsync(2)). SQLite does
    that for its files, nobody does it for a new folder.
    """
    new = [path for path in (folder.absolute(), *folder.absolute().parents) if not path.exists()]
    folder.mkdir(parents=True, exist_ok=True)
    for path in new:
        handle = os.open(path.parent, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


@contextlib.contextmanager
def sentences(file: Path) -> Iterator[None]:
    """Turn what SQLite and the operating system say into a RecordError with a sentence."""
    try:
        yield
    except DBAPIError as error:
        raise _told(error.orig or error, file) from error
    except (sqlite3.Error, OSError) as error:
        raise _told(error, file) from error


def _told(error: BaseException, file: Path) -> RecordError:
    code = getattr(error, "sqlite_errorcode", None)
    if isinstance(error, OSError):
        return _told_by_system(error, file)
    if code is None:
        if "decode" in str(error):
            return AlteredError(f"{file} holds text that is no text: it was altered. {_RESTORE}")
        return RecordError(f"{file} could not be used ({error}).")
    match code & _PRIMARY:
        case sqlite3.SQLITE_FULL:
            return DiskFullError(
                f"The disk of {file} is full: nothing of this was kept. Make room, then do it "
                "again; everything kept before is safe."
            )
        case sqlite3.SQLITE_IOERR:
            return RecordError(
                f"The disk of {file} refuses ({error}): nothing of this was kept. Make sure that "
                "the disk is there, sound and not full, then do it again."
            )
        case sqlite3.SQLITE_READONLY | sqlite3.SQLITE_PERM:
            return RecordError(
                f"{file} may not be written ({error}); give this user the right to write the "
                "folder and the files in it."
            )
        case sqlite3.SQLITE_CANTOPEN:
            return RecordError(
                f"{file} cannot be opened; make sure that the folder is there and that this user "
                "may read and write it."
            )
        case sqlite3.SQLITE_NOTADB:
            return SchemaError(
                f"{file} is no database; it was left as it is. Choose another data folder."
            )
        case sqlite3.SQLITE_CORRUPT:
            return AlteredError(f"{file} is damaged ({error}). {_RESTORE}")
        case sqlite3.SQLITE_BUSY | sqlite3.SQLITE_LOCKED:
            return LockedError(
                f"Another program holds {file}: nothing of this was kept. Close that program, "
                "then do it again."
            )
    return RecordError(f"{file} could not be used ({error}).")


_RESTORE = "Keep a copy as it is, and restore the data folder from a backup."


def _told_by_system(error: OSError, file: Path) -> RecordError:
    where = error.filename or file
    if error.errno in {errno.ENOSPC, errno.EDQUOT}:
        return DiskFullError(f"There is no room on the disk of {where}; make room and try again.")
    return RecordError(
        f"{where} cannot be used as a data folder ({error.strerror}); make sure that it is a "
        "folder which this user may read and write."
    )
