"""One bench a data folder, whatever became of the one before."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from daq.records.errors import LockedError
from daq.records.lock import LOCK_NAME, FolderLock

ROOT = Path(__file__).parents[3]
PIPES = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True}
HOLD = (
    "import sys, pathlib; from daq.records.lock import FolderLock;"
    "held = FolderLock(pathlib.Path(sys.argv[1])); print('held', flush=True); sys.stdin.read()"
)

ON = ["sqlite"]


@pytest.fixture
def holder(tmp_path):
    """Another process that holds the folder."""
    process = subprocess.Popen(
        [sys.executable, "-c", HOLD, str(tmp_path)],
        cwd=ROOT,
        **PIPES,
    )
    try:
        assert process.stdout.readline() == "held\n"
        yield process
    finally:
        process.kill()
        process.communicate()


def test_a_second_bench_is_refused_with_the_process_that_holds_it(make, tmp_path, holder):
    with pytest.raises(LockedError, match=rf"in use by another bench \(process {holder.pid}\)"):
        make.journal(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == [LOCK_NAME]


def test_a_killed_bench_leaves_nothing_to_clean_up(make, tmp_path, holder):
    holder.kill()
    holder.wait()
    make.journal(tmp_path).close()


def test_the_same_process_cannot_take_it_twice_and_can_again_after_release(make, tmp_path):
    with make.journal(tmp_path), pytest.raises(LockedError, match=f"process {os.getpid()}"):
        make.journal(tmp_path)
    make.journal(tmp_path).close()


def test_the_lock_goes_with_the_process_that_took_it_not_with_its_children(tmp_path):
    """A helper program started by the bench must not keep the folder when the bench is gone."""
    lock = FolderLock(tmp_path)
    with subprocess.Popen(["/bin/cat"], close_fds=False, **PIPES) as child:
        # Its answer shows that it is cat by now: until then it is a copy of this process.
        child.stdin.write("up\n")
        child.stdin.flush()
        assert child.stdout.readline() == "up\n"
        lock.release()
        FolderLock(tmp_path).release()
