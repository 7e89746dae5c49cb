"""Live capture against a plain script: bytes on a port to the runout of a turning valve.

Run by hand: `python -m pytest tests/benchmarks/test_live_capture.py -n 0 -s`. Another process
writes the lines of an invented bent valve into a pseudo serial port as fast as they are taken. The
baseline is what a script does: `readline()`, `float`, largest and smallest. Both read the same
port in turns, in one run, and only the ratio of their processor time a reading is compared. The
second figure is the share of one core that gauges turning valves at their own pace take.
"""

import asyncio
import math
import statistics
import time

import numpy as np
import pytest
import serial

from daq.capture.base import Setup
from daq.capture.turn import Turn
from drivers.gauge import Gauge, GaugeSpec
from drivers.profile import load_profile
from tests.benchmarks.flooding import flooded_port
from tests.generators.feeding import readings
from tests.generators.hand_spin import long_spin

ROUNDS = 5
BASELINE_LINES, READINGS = 10_000, 400_000
RATIO_LEAST = 20
SETUP = Setup(resolution=0.001, one_way=True)
GAUGES, RATE_HZ, SECONDS = 64, 100.0, 20.0
CORE_SHARE_MOST = 0.25


@pytest.fixture
def port():
    turn = (
        0.02 * math.cos(math.tau * n / 500) + 0.004 * math.cos(2 * math.tau * n / 500 + 1)
        for n in range(500)
    )
    with flooded_port(b"".join(b"%+08.3f\r\n" % value for value in turn)) as path:
        yield path


def script(path: str) -> float:
    """Processor seconds a reading of the plain way."""
    with serial.Serial(path, 9600, timeout=5) as opened:
        opened.readline()
        least, largest = float("inf"), float("-inf")
        began_s = time.process_time()
        for _ in range(BASELINE_LINES):
            value = float(opened.readline())
            least, largest = min(least, value), max(largest, value)
        spent_s = time.process_time() - began_s
    assert largest - least > 0.03
    return spent_s / BASELINE_LINES


async def captured(path: str) -> tuple[float, int]:
    """Processor seconds a reading of ours, and how many turns were captured on the way."""
    gauge = Gauge(GaugeSpec("dial", path, load_profile("plain-line")), time.monotonic)
    batches = gauge.batches()
    await anext(batches)
    turn, captures, count = Turn(SETUP), 0, 0
    began_s = time.process_time()
    async for batch in batches:
        count += len(batch)
        turn.feed(batch)
        if turn.done:
            got = turn.result()
            assert got.measured is not None
            assert got.measured.value == pytest.approx(0.0408, abs=0.0015)
            turn, captures = Turn(SETUP), captures + 1
        if count >= READINGS:
            break
    spent_s = time.process_time() - began_s
    await batches.aclose()
    return spent_s / count, captures


def test_bytes_to_live_capture(port: str) -> None:
    plain, ours, turns = [], [], 0
    for _ in range(ROUNDS):
        plain.append(script(port))
        each_s, captures = asyncio.run(captured(port))
        ours.append(each_s)
        turns += captures
    ratio = statistics.median(plain) / statistics.median(ours)
    print(
        f"\nscript: {1 / statistics.median(plain):,.0f} readings a processor-second; "
        f"live capture: {1 / statistics.median(ours):,.0f}, {turns} runouts kept on the way; "
        f"{ratio:.0f} times as many"
    )
    assert turns
    assert ratio >= RATIO_LEAST


def test_share_of_a_core_for_many_gauges_turning_at_once() -> None:
    spent_s, length_s = 0.0, 0.0
    for seed in range(GAUGES):
        spin = long_spin(
            np.random.default_rng([78, seed]),
            shape="bent", hand="fingers", rate_hz=RATE_HZ, step_mm=0.001, length_s=SECONDS,
        )  # fmt: skip
        given = readings(spin.t_s, spin.value_mm)
        turn = Turn(SETUP)
        began_s = time.process_time()
        for first in range(0, len(given), 4):
            turn.feed(given[first : first + 4])
        spent_s += time.process_time() - began_s
        length_s += given[-1].t_s - given[0].t_s
    share = spent_s / length_s * GAUGES
    print(
        f"\n{GAUGES} valves turned at once, {RATE_HZ:.0f} readings a second each: "
        f"{share:.1%} of a core"
    )
    assert share <= CORE_SHARE_MOST
