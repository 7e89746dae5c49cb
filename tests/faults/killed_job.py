"""Kill a headless job at a moment of chance, and hold its record against what was announced."""

import os
import signal
import subprocess
import sys
import threading
from collections import Counter
from pathlib import Path

from daq.records.records import Records
from daq.records.signing import PUBLIC_FILE, public_keys
from daq.records.verify import verify
from daq.records.verify_store import verify_store

ROOT = Path(__file__).parents[2]


def kill_after(folder: Path, seed: int, entries: int, delay_s: float) -> int:
    """How many entries were announced before the kill; all of them must stand, each once.

    The kill comes `delay_s` after so many announcements: counted in work, not in time, so that a
    slow machine is killed as deep in the job as a fast one.
    """
    process = subprocess.Popen(
        [sys.executable, str(Path(__file__).with_name("measuring.py")), str(folder), str(seed)],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
    )
    with process.stdout:
        heard = b"".join(process.stdout.readline() for _ in range(entries))
        timer = threading.Timer(delay_s, process.send_signal, [signal.SIGKILL])
        timer.start()
        heard += process.stdout.read()
        timer.join()
    assert process.wait() == -signal.SIGKILL
    # A line torn by the kill was not announced.
    told = [line.split()[1] for line in heard.decode().rpartition("\n")[0].splitlines()]
    with Records.open_to_read(folder) as records:
        assert records.damage() == []
        keys = public_keys(folder / PUBLIC_FILE)
        assert all(verdict.findings == () for verdict in verify(records, keys))
        assert verify_store(records, keys) == []
        stands = Counter(event.entry.id for event in records.events(0, 100_000))
        last = records.record(records.jobs(limit=1)[0].id)
    assert all(stands[each] == 1 for each in told)
    assert set(stands.values()) == {1}
    # What was being measured is said by the record itself, unless a value had just been kept.
    assert last.open_capture() is not None or last.entries[-1].kind == "measurement.kept"
    return len(told)
