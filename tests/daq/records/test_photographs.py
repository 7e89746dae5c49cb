"""Pictures in the data folder: on the disk before the record names them, checked when read."""

import pytest

from api.keeping import back_up, put_back, take_over
from daq.head.photograph import Photographed, photographed, photographs_of
from daq.head.record import Draft, EntryKind
from daq.records.chain import Fault
from daq.records.errors import AlteredError, RecordError
from daq.records.records import Records
from daq.records.signing import PUBLIC_FILE, public_keys
from daq.records.verify import verify
from tests.generators.pictures import jpeg, png

ON = ["sqlite"]  # the pictures are files whatever the database


def keep(journal, job, picture, **what):
    asked = Photographed(picture, **what)
    return journal.append([photographed(journal.record(job), asked)])


def names_in(folder):
    return sorted(file.name for file in (folder / "photographs").iterdir())


def faults(folder):
    keys = public_keys(folder / PUBLIC_FILE)
    with Records.open_to_read(folder) as records:
        return [(f.number, f.fault) for verdict in verify(records, keys) for f in verdict.findings]


@pytest.fixture
def folder(make, tmp_path):
    """One closed job with a picture of the head and one of a valve, and one with another."""
    folder = tmp_path / "data"
    with make.journal(folder) as journal:
        journal.append([make.opening(), make.opening("job-2", "B 200")])
        keep(journal, "job-1", jpeg())
        keep(journal, "job-1", png(), position="3E", part="valve")
        keep(journal, "job-2", png(7))
        for job in ("job-1", "job-2"):
            journal.append([Draft(job, EntryKind.SIGNED, {"person": "invented"})])
    return folder


def test_what_was_kept_is_read_back_byte_for_byte(folder):
    with Records.open_to_read(folder) as records:
        found = list(photographs_of(records.record("job-1")))
        assert [records.photographs.read(each) for each in found] == [jpeg(), png()]
    assert faults(folder) == []


def test_a_missing_or_altered_file_is_said(folder):
    with Records.open_to_read(folder) as records:
        first, second = photographs_of(records.record("job-1"))
    (folder / "photographs" / first.file_name).unlink()
    (folder / "photographs" / second.file_name).write_bytes(jpeg("another"))
    assert faults(folder) == [(2, Fault.PHOTOGRAPH_MISSING), (3, Fault.PHOTOGRAPH_ALTERED)]
    with Records.open_to_read(folder) as records, pytest.raises(AlteredError, match="another hash"):
        records.photographs.read(second)


def test_what_cannot_be_written_is_not_in_the_record(make, tmp_path):
    with make.journal(tmp_path) as journal:
        journal.append([make.opening()])
        (tmp_path / "photographs").write_text("a file where the folder should be")
        with pytest.raises(RecordError):
            keep(journal, "job-1", png())
        assert len(journal.record("job-1").entries) == 1


def test_they_are_in_a_backup_and_come_back(folder, tmp_path):
    list(back_up(folder, tmp_path / "copy"))
    list(put_back(tmp_path / "copy", tmp_path / "new"))
    assert names_in(tmp_path / "new") == names_in(folder)
    assert faults(tmp_path / "new") == []


def test_a_backup_without_one_of_them_is_not_called_whole(folder, tmp_path):
    (folder / "photographs" / names_in(folder)[0]).unlink()
    with pytest.raises(RecordError, match="is missing"):
        list(back_up(folder, tmp_path / "copy"))


def test_they_go_with_their_job_and_no_others(make, folder):
    (folder / "photographs" / "notes.txt").write_text("somebody's own")
    with make.journal(folder) as journal:
        left = [each.file_name for each in photographs_of(journal.record("job-2"))]
        journal.remove("job-1", "kept for two years")
    assert names_in(folder) == sorted([*left, "notes.txt"])
    assert faults(folder) == []


def test_they_come_along_with_the_jobs_of_another_bench(make, folder, tmp_path):
    ours = tmp_path / "ours"
    make.journal(ours).close()
    said = list(take_over(folder, folder / PUBLIC_FILE, ours, None))
    assert all("taken over" in line for line in said)
    assert names_in(ours) == names_in(folder)
    assert faults(ours) == []
