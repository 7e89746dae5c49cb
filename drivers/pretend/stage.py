"""Pretend gauges and the gauges that listen to them, on one clock.

On a `JumpingClock` a whole job runs as fast as the machine can and every time stamp stays true:
the clock stands still while a reading is on its way and jumps to the next reading only when the
listener has dealt with this one. On a `SteadyClock` the same steps take their real time.
"""

import asyncio
import time
from collections.abc import Awaitable, Callable, Sequence
from typing import Protocol

from drivers.gauge import Gauge
from drivers.link import LinkState
from drivers.pretend.gauge import PretendGauge


class Clock(Protocol):
    """Time as the stage and everything on it knows it."""

    def now(self) -> float:
        """Seconds, never going back."""
        ...

    async def until(self, t_s: float) -> None:
        """Return when it is `t_s`."""
        ...


class JumpingClock:
    """Stands still until it is told to jump."""

    def __init__(self) -> None:
        self._t_s = 0.0

    def now(self) -> float:
        """See `Clock`."""
        return self._t_s

    async def until(self, t_s: float) -> None:
        """Jump there at once."""
        self._t_s = max(self._t_s, t_s)


class SteadyClock:
    """The machine's own steady clock."""

    def now(self) -> float:
        """See `Clock`."""
        return time.monotonic()

    async def until(self, t_s: float) -> None:
        """Sleep until then."""
        await asyncio.sleep(max(0.0, t_s - self.now()))


class Stage:
    """Delivers the readings of all pretend gauges, one by one, in the order of their times.

    pairs: each pretend gauge with the gauge that listens to its port. settled: awaited after
    every reading, for a listener that hands readings on to somebody else before they are dealt
    with; without it a reading is dealt with when the loop over `Gauge.batches` comes back.
    """

    def __init__(
        self,
        clock: Clock,
        pairs: Sequence[tuple[PretendGauge, Gauge]],
        settled: Callable[[], Awaitable[None]] | None = None,
    ) -> None:
        self.clock = clock
        self.readings = 0
        self._pairs = list(pairs)
        self._settled = settled

    async def opened(self) -> None:
        """Wait until every port is listened to."""
        for _, gauge in self._pairs:
            await gauge.link.opened()

    async def step(self) -> PretendGauge:
        """Deliver the next reading; return when it was dealt with, with the gauge that spoke."""
        pretend, gauge = min(self._pairs, key=lambda pair: pair[0].next_t_s)
        await self.clock.until(pretend.next_t_s)
        read_before = gauge.link.bytes_read
        is_open = gauge.link.state is LinkState.OPEN
        sent = pretend.speak()
        self.readings += 1
        if sent and is_open:
            await gauge.link.drained(read_before + sent)
        else:
            await asyncio.sleep(0)  # nobody listens; let the loop run all the same
        if self._settled is not None:
            await self._settled()
        return pretend

    async def run_while(self, wanted: Callable[[], bool]) -> None:
        """Step as long as `wanted()` is true; it is asked before every reading."""
        while wanted():
            await self.step()
