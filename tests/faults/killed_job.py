"""Kill a headless job at a moment of chance, and hold its record against what was announced."""

import os
import signal
import subprocess
import sys
import threading
import time
from collections import Counter
from pathlib import Path

from daq.records.records import Records
from daq.records.verify import verify

ROOT = Path(__file__).parents[2]


def kill_after(folder: Path, seed: int, seconds: float) -> int:
    """How many entries were announced before the kill; all of them must stand, each once.

    seconds: counted from the first announcement, so that no kill is spent on starting up.
    """
    process = subprocess.Popen(
        [sys.executable, str(Path(__file__).with_name("measuring.py")), str(folder), str(seed)],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
    )
    first = process.stdout.readline()
    timer = threading.Timer(seconds, process.send_signal, [signal.SIGKILL])
    began_s = time.monotonic()
    timer.start()
    with process.stdout:
        rest = process.stdout.read()
    timer.cancel()
    process.wait()
    assert process.returncode in {0, -signal.SIGKILL}, time.monotonic() - began_s
    # A line torn by the kill was not announced.
    told = [line.split()[1] for line in (first + rest).decode().rpartition("\n")[0].splitlines()]
    with Records.open_to_read(folder) as records:
        assert records.damage() == []
        assert all(verdict.findings == () for verdict in verify(records))
        stands = Counter(entry.id for _, entry in records.events(0, 100_000))
        last = records.record(records.jobs(limit=1)[0].id)
    assert all(stands[each] == 1 for each in told)
    assert set(stands.values()) == {1}
    if process.returncode:
        # What was being measured is said by the record itself, unless a value had just been kept.
        assert last.open_capture() is not None or last.entries[-1].kind in {
            "measurement.kept",
            "gauge.zeroed",
            "measurement.voided",
            "job.opened",
        }
    return len(told)
