"""How long an append takes while a receiver fails for minutes, and without any, in one run.

By hand: `python -m pytest -n 0 -s tests/long/test_receivers_for_minutes.py`. OUTAGE_S: how long
each receiver fails. The bench writes every 50 ms, as no bench does for long.
"""

import asyncio
import os
import statistics
import time

import pytest

from tests.faults.receivers import FAILING, World, through
from tests.servers import mosquitto, postgres  # noqa: F401

OUTAGE_S = float(os.environ.get("OUTAGE_S", "120"))
PACE_S = 0.05
# Of the same length together as the outage; one before it and one after, because the disk changes.
ALONE_S = OUTAGE_S / 2
RATIO_MOST, FLOOR_S = 3.0, 0.02


async def appends(bench, phase, seconds, tell):
    """How long each append took, in seconds, as the loop of a bench sees it."""
    took_s, end_s = [], time.monotonic() + seconds
    while time.monotonic() < end_s:
        begun_s = time.perf_counter()
        await asyncio.to_thread(bench.write, f"{phase}-{len(took_s) // 200}")
        tell(None)
        took_s.append(time.perf_counter() - begun_s)
        await asyncio.sleep(PACE_S)
    return took_s


def shown(took_s):
    cuts = statistics.quantiles(took_s, n=100)
    return f"p50 {1000 * cuts[49]:.1f} ms, p99 {1000 * cuts[98]:.1f} ms", cuts[98]


@pytest.mark.timeout(3600)
@pytest.mark.parametrize("what", FAILING)
async def test_no_append_waits(what, tmp_path, mosquitto, postgres):  # noqa: F811
    with_it = []
    async with FAILING[what](World(tmp_path, mosquitto, postgres)) as failing:
        alone = await appends(failing.bench, "before", ALONE_S, lambda _: None)

        async def write(pushing):
            with_it.extend(await appends(failing.bench, "meanwhile", OUTAGE_S, pushing.tell))

        await through(failing, write)
        alone += await appends(failing.bench, "after", ALONE_S, lambda _: None)
    (without_said, without_s), (with_said, with_s) = shown(alone), shown(with_it)
    print(
        f"{what}, {OUTAGE_S:.0f} s: {with_said} ({len(with_it)} appends); "
        f"without: {without_said} ({len(alone)}); nothing lost"
    )
    assert with_s <= RATIO_MOST * without_s + FLOOR_S
