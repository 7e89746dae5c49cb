"""A copy of a data folder while the bench writes into it, by SQLite's own backup."""

import contextlib
import os
import shutil
import sqlite3
from pathlib import Path

from daq.records.database import FILE_NAME, make_folder, sentences
from daq.records.errors import RecordError
from daq.records.photographs import Photographs
from daq.records.signing import KEY_FILE, PUBLIC_FILE

# All at once in steps: the bench writes between two of them, and SQLite copies again what changed.
PAGES_A_STEP = 1000


def copy_of(folder: Path, out: Path) -> None:
    """Copy records, photographs and keys of `folder` to `out`.

    It is there as a whole or not at all. Raises RecordError.
    """
    if out.exists():
        raise RecordError(f"{out} is there already; give a name that is free.")
    file = folder / FILE_NAME
    if not file.is_file():
        raise RecordError(f"There are no records in {folder} to be copied.")
    half = out.with_name(f"{out.name}.half")
    with sentences(out):
        shutil.rmtree(half, ignore_errors=True)
        make_folder(half)
        _copy_database(file, half / FILE_NAME)
        # After the records: what they name was on the disk before they named it.
        Photographs(folder).copy_to(half)
        for name in (KEY_FILE, PUBLIC_FILE):
            if (folder / name).exists():
                shutil.copy2(folder / name, half / name)
        for path in (*half.iterdir(), half):
            _sync(path)
        half.rename(out)
        _sync(out.parent)


def _copy_database(source: Path, target: Path) -> None:
    with (
        contextlib.closing(sqlite3.connect(f"{source.absolute().as_uri()}?mode=ro", uri=True)) as a,
        contextlib.closing(sqlite3.connect(target)) as b,
    ):
        a.backup(b, pages=PAGES_A_STEP, sleep=0.01)
        b.execute("PRAGMA journal_mode = DELETE")  # one file, to be carried about


def _sync(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
