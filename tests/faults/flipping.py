"""One bit of one stored column, or of one byte of an exported record, flipped by chance."""

import contextlib
import random
import shutil
import sqlite3
from pathlib import Path

from daq.records.database import FILE_NAME
from daq.records.errors import AlteredError, RecordError
from daq.records.exported import verify_export
from daq.records.records import Records
from daq.records.signing import PUBLIC_FILE, public_keys
from daq.records.tables import metadata
from daq.records.verify import verify
from daq.records.verify_store import verify_store

# How far a receiver was told is no record; it may be set back by hand.
TABLES = sorted(set(metadata.tables) - {"destinations"})
INTEGER_BITS = 24


def flip_a_column(folder: Path, copy: Path, chance: random.Random) -> tuple[str, str, object]:
    """A copy of the folder with one bit of one stored value flipped: its table, column, row."""
    shutil.copytree(folder, copy, dirs_exist_ok=True)
    with contextlib.closing(sqlite3.connect(copy / FILE_NAME, isolation_level=None)) as plain:
        for (trigger,) in plain.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'"):
            plain.execute(f"DROP TRIGGER {trigger}")
        while True:
            table = chance.choice(TABLES)
            column = chance.choice([each.name for each in metadata.tables[table].c])
            (row, value) = chance.choice(
                plain.execute(f"SELECT rowid, {column} FROM {table}").fetchall()
            )
            if value is None or value in ("", b""):
                continue
            with contextlib.suppress(sqlite3.IntegrityError):  # another row has that key already
                plain.execute(
                    f"UPDATE {table} SET {column} = {flipped(value, chance)} WHERE rowid = ?",
                    (row,),
                )
                return table, column, row


def flipped(value: object, chance: random.Random) -> str:
    """The value with one bit turned, as SQL."""
    if isinstance(value, int):
        return str(value ^ 1 << chance.randrange(INTEGER_BITS))
    data = bytearray(value.encode() if isinstance(value, str) else value)
    data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
    blob = f"x'{data.hex()}'"
    return f"CAST({blob} AS TEXT)" if isinstance(value, str) else blob


def cut_off(folder: Path, copy: Path, chance: random.Random) -> int:
    """A copy without the last entries of a job, its row made to agree; how many went."""
    shutil.copytree(folder, copy, dirs_exist_ok=True)
    with contextlib.closing(sqlite3.connect(copy / FILE_NAME, isolation_level=None)) as plain:
        for (trigger,) in plain.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'"):
            plain.execute(f"DROP TRIGGER {trigger}")
        (job,) = chance.choice(plain.execute("SELECT id FROM jobs").fetchall())
        numbers = plain.execute("SELECT number FROM entries WHERE job = ?", (job,)).fetchall()
        left = chance.randrange(1, len(numbers))
        plain.execute("DELETE FROM entries WHERE job = ? AND number > ?", (job, left))
        plain.execute(
            "UPDATE jobs SET (last_number, last_hash, last_cursor) = "
            "(SELECT number, hash, cursor FROM entries WHERE job = ?1 AND number = ?2) "
            "WHERE id = ?1",
            (job, left),
        )
        return len(numbers) - left


def findings(folder: Path) -> list[str]:
    """What verify says of the folder."""
    with Records.open_to_read(folder) as records:
        try:
            keys = public_keys(folder / PUBLIC_FILE)
            said = [finding.text for each in verify(records, keys) for finding in each.findings]
            return said + [finding.text for finding in verify_store(records, keys)]
        except AlteredError as error:
            return [str(error)]


def export_findings(data: bytes, keys) -> list[str]:
    """What verify says of an exported record."""
    try:
        return [finding.text for finding in verify_export(data, keys).findings]
    except RecordError as error:
        return [str(error)]
