"""A bench that is killed leaves everything that it told of, and a folder to open at once."""

import os
import signal
import subprocess
from pathlib import Path

import pytest

from tests.faults.killed_job import kill_after

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("appends", [1, 7, 20])
def test_killed_while_it_writes(bench, kept_ids, appends):
    process = subprocess.Popen(
        bench.command("--appends", 100_000),
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        text=True,
    )
    lines = []
    while sum(line.startswith("kept") for line in lines) < appends:
        lines.append(process.stdout.readline().rstrip("\n"))
    process.send_signal(signal.SIGKILL)
    rest, _ = process.communicate()
    whole = rest.rpartition("\n")[0]
    told = kept_ids(lines + whole.split("\n"))
    with bench.journal():
        found = bench.ids()
    assert found[: len(told)] == told
    # one append may have been committed and not yet said: it has three entries at most
    assert len(found) - len(told) <= 3


@pytest.mark.parametrize("entries", [2, 6])
def test_a_job_killed_while_it_is_measured(tmp_path, entries):
    """Fifty such kills are in tests/long."""
    assert kill_after(tmp_path, seed=1, entries=entries, delay_s=0.05) >= entries
