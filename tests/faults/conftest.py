"""Benches in a process of their own, and what must hold of the records they leave."""

import os
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from daq.records.database import FILE_NAME
from daq.records.journal import Journal
from daq.records.records import Records
from daq.records.signing import PUBLIC_FILE, public_keys
from daq.records.verify import verify
from daq.records.verify_store import verify_store

ROOT = Path(__file__).parents[2]


class Bench:
    """A folder, and the program that writes into it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def command(self, *options: object) -> list[str]:
        script = Path(__file__).with_name("appending.py")
        return [sys.executable, str(script), str(self.folder), *map(str, options)]

    def run(self, *options: object, under: tuple[str, ...] = ()) -> list[str]:
        """What the program said, line by line; it must have come to its end."""
        done = subprocess.run(
            [*under, *self.command(*options)],
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            check=False,
            capture_output=True,
            text=True,
            timeout=500,
        )
        assert done.returncode == 0, done.stderr[-2000:]
        assert done.stdout.endswith("done\n")
        return done.stdout.splitlines()

    def prepare(self) -> None:
        """Make the tables, so that what follows begins with the first entry."""
        self.journal().close()

    def journal(self) -> Journal:
        return Journal.open(self.folder, now=None, new_id=None)

    def ids(self) -> list[str]:
        """The ids of all entries in the order of writing, after everything was found whole."""
        with Records.open_to_read(self.folder) as records:
            assert records.damage() == []
            keys = public_keys(self.folder / PUBLIC_FILE)
            assert verify_store(records, keys) == []
            for verdict in verify(records, keys):
                assert verdict.findings == ()
                records.record(verdict.job)
            return [event.entry.id for event in records.events(0, 10_000)]

    def rows(self, table: str) -> int:
        """Counted by plain SQLite."""
        plain = sqlite3.connect(self.folder / FILE_NAME)
        (count,) = plain.execute(f"SELECT count(*) FROM {table}").fetchone()
        plain.close()
        return count


def told(lines: list[str]) -> list[str]:
    """The ids that the program said were kept."""
    return [word for line in lines if line.startswith("kept ") for word in line.split()[1:]]


@pytest.fixture
def bench(tmp_path):
    return Bench(tmp_path / "data")


@pytest.fixture
def kept_ids():
    return told


@pytest.fixture(scope="session")
def strace():
    """strace, which records system calls and lets them fail."""
    found = shutil.which("strace")
    if found is None:
        pytest.skip("strace is not installed (apt-get install strace)")
    tried = subprocess.run([found, "-qq", "true"], check=False, capture_output=True, text=True)
    if tried.returncode != 0:
        pytest.skip(f"strace may not trace here: {tried.stderr.strip()}")
    return found
