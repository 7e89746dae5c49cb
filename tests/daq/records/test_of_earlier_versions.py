"""Databases that earlier versions of the program wrote, opened by this one."""

import shutil
from pathlib import Path

import pytest

from daq.records.database import FILE_NAME
from daq.records.schema import REVISIONS
from daq.records.signing import PUBLIC_FILE, public_keys
from daq.records.verify import verify
from daq.records.verify_store import verify_store

ON = ["sqlite"]  # rows of each revision on a server: test_migrations.py
WRITTEN = Path(__file__).parents[3] / "fixtures/records"


def test_there_is_one_of_each():
    assert [path.stem for path in sorted(WRITTEN.glob("*.sqlite3"))] == list(REVISIONS[:-1])


@pytest.mark.parametrize("revision", REVISIONS[:-1])
def test_it_is_whole_and_is_written_on(make, tmp_path, revision):
    shutil.copy(WRITTEN / f"{revision}.sqlite3", tmp_path / FILE_NAME)
    removed = revision >= "0002"
    with make.journal(tmp_path) as journal:
        keys = dict(public_keys(tmp_path / PUBLIC_FILE))
        if removed:
            keys |= public_keys(WRITTEN / f"{revision}.pub")
        assert journal.damage() == []
        assert [v.findings for v in verify(journal, keys) if v.findings] == []
        assert verify_store(journal, keys) == []
        numbers = ["C 300", *([] if removed else ["B 200"]), "A 100"]
        assert [row.number for row in journal.jobs()] == numbers
        record = journal.record(journal.find("A 100"))
        assert record.is_signed
        (kept,) = record.of_kind("measurement.kept")
        assert kept.id in record.voids
        assert journal.trace(kept.body["trace_sha256"])
        assert journal.receipt("key job-1").status == 201
        assert [plan.name for plan in journal.plans()] == ["four-by-two"]
        journal.append([make.note(journal.find("C 300"))])
        assert journal.events(0, 100)[-1].job.number == "C 300"
        assert verify_store(journal, keys) == []
