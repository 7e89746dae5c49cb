"""Many pseudo ports in one process, each with a gauge that counts: is every reading there?"""

import asyncio
import os
import resource
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path

import uvloop

from drivers.gauge import Gauge, GaugeSpec
from drivers.profile import load_profile

# Every gauge says 0.000, 0.001, 0.002 ... at its rate; the rates are kept over the whole time, so
# what the machine could not do in time is done after it.
WRITER = """
import os, sys, time
ports, rate_hz, count = [int(n) for n in sys.argv[3:]], float(sys.argv[1]), int(sys.argv[2])
began_s = time.monotonic()
for n in range(count):
    line = b"%+012.3f\\r\\n" % (0.001 * n)
    wait_s = began_s + n / rate_hz - time.monotonic()
    if wait_s > 0:
        time.sleep(wait_s)
    for port in ports:
        os.write(port, line)
print(time.monotonic() - began_s)
"""
KIB = 1024
PATIENCE_S = 30.0


@dataclass
class Soaked:
    """What came of it. lost: readings that never came or came out of order. cores: processor
    seconds a second. rss_mib: (seconds since the beginning, memory) every `every_s`."""

    seconds: float = 0.0
    expected: int = 0
    heard: int = 0
    lost: int = 0
    cores: float = 0.0
    rss_mib: list[tuple[float, float]] = field(default_factory=list)


def soak(ports: int, rate_hz: float, seconds: float, every_s: float) -> Soaked:
    """Listen to so many gauges for so long."""
    ends = [os.openpty() for _ in range(ports)]
    try:
        with asyncio.Runner(loop_factory=uvloop.new_event_loop) as runner:
            return runner.run(_soak(ends, rate_hz, int(rate_hz * seconds), every_s))
    finally:
        for ours, theirs in ends:
            os.close(ours)
            os.close(theirs)


async def _soak(ends, rate_hz: float, count: int, every_s: float) -> Soaked:
    profile = load_profile("plain-line")
    gauges = [
        Gauge(GaugeSpec(f"dial {i}", os.ttyname(theirs), profile), time.monotonic)
        for i, (_, theirs) in enumerate(ends)
    ]
    said = Soaked(expected=count * len(ends))
    listening = [asyncio.create_task(_count(gauge, said, count)) for gauge in gauges]
    await asyncio.gather(*(gauge.link.opened() for gauge in gauges))
    await asyncio.sleep(0.3)  # so that the first line is no torn one
    numbers = [ours for ours, _ in ends]
    command = [sys.executable, "-c", WRITER, str(rate_hz), str(count), *map(str, numbers)]
    began_s, processor_s = time.monotonic(), time.process_time()
    writer = await asyncio.create_subprocess_exec(
        *command, pass_fds=numbers, stdout=asyncio.subprocess.PIPE
    )
    wrote = asyncio.create_task(writer.communicate())
    while not (await asyncio.wait({wrote}, timeout=every_s))[0]:
        said.rss_mib.append((time.monotonic() - began_s, _rss_mib()))
    said.seconds = float(wrote.result()[0])
    said.cores = (time.process_time() - processor_s) / (time.monotonic() - began_s)
    # What the machine has not come to yet; each listener ends with its gauge's last reading.
    _, late = await asyncio.wait(listening, timeout=PATIENCE_S)
    for task in late:
        task.cancel()
    await asyncio.gather(*listening, return_exceptions=True)
    said.lost = max(said.lost, said.expected - said.heard)
    return said


async def _count(gauge: Gauge, said: Soaked, count: int) -> None:
    """Until the last one: they are numbered."""
    due = 0
    async for batch in gauge.batches():
        for reading in batch:
            number = round(reading.value * 1000)
            said.lost += abs(number - due)
            due = number + 1
        said.heard += len(batch)
        if due >= count:
            return


def _rss_mib() -> float:
    pages = int(Path("/proc/self/statm").read_text("ascii").split()[1])
    return pages * resource.getpagesize() / KIB / KIB
