"""Listen to a gauge whose profile is known."""

import asyncio
from collections.abc import AsyncGenerator, Callable
from contextlib import aclosing
from typing import NamedTuple

from drivers.find.adapters import resolve
from drivers.gauge import Gauge, GaugeSpec
from drivers.profile import Profile
from drivers.reading import Reading


class Said(NamedTuple):
    """What came while listening: the bytes, what was understood of them, and, last of all, what
    is wrong (or "")."""

    data: bytes
    readings: list[Reading]
    trouble: str = ""


async def listen(
    port: str, profile: Profile, seconds: float, now: Callable[[], float]
) -> AsyncGenerator[Said, None]:
    """What the gauge on `port` says in so many seconds; the last item is empty but for trouble."""
    gauge = Gauge(GaugeSpec(port, port, profile), now, resolve)
    trouble = ""

    def end() -> None:
        nonlocal trouble
        trouble = gauge.trouble
        gauge.stop()

    timer = asyncio.get_running_loop().call_later(seconds, end)
    try:
        async with aclosing(gauge.said()) as said:
            async for chunk, readings in said:
                yield Said(chunk.data, readings)
    finally:
        timer.cancel()
    yield Said(b"", [], trouble)
