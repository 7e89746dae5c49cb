"""`Gauge`: link, wire and profile together, as a stream of batches of readings."""

import asyncio
from collections import deque
from collections.abc import AsyncGenerator, Callable
from contextlib import aclosing
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from statistics import median

from drivers.link import Chunk, Link, LinkState, PortSettings, Resolve, Start, as_named
from drivers.profile import CANONICAL, Profile, SourceUnit
from drivers.reading import Reading, State, on_time_grid, on_value_grid
from drivers.wires.base import Heard, Wire
from drivers.wires.registry import WIRES

QUIET_S = 0.25  # no gauge pauses so long inside a line: what follows begins a new one
SILENT_AFTER_S = 1.0
SILENT_AFTER_INTERVALS = 5
INTERVALS_KEPT = 31
UNANSWERED_PERIODS_MAX = 5  # then the request, or its answer, was lost: ask again


class Speaks(StrEnum):
    """When a gauge sends: all the time, or when its own button is pressed."""

    STREAM = "stream"
    BUTTON = "button"


class GaugeState(StrEnum):
    """How a gauge stands now."""

    SPEAKING = "speaking"
    WAITING = "waiting"  # it speaks on its button
    SILENT = "silent"
    GONE = "gone"


@dataclass(frozen=True, slots=True)
class GaugeSpec:
    """A gauge on this bench.

    port: any pyserial URL, or a name that the resolver handed to `Gauge` knows. channel: keep
    only this channel of the port; "" keeps all. reverse: it counts backwards, so the sign is
    turned. unit: what a number without a unit word means, over the profile's. resolution: its
    step in the canonical unit, None when unknown.
    """

    name: str
    port: str
    profile: Profile
    channel: str = ""
    reverse: bool = False
    unit: SourceUnit | None = None
    speaks: Speaks = Speaks.STREAM
    resolution: float | None = None


class Gauge:
    """One gauge on one port.

    now: a steady clock in seconds. resolve: turns the configured port into what can be opened.

    last: the newest reading or None. readings: how many came. Also the counters of `link` and
    `wire`. state and trouble are worked out when asked for, so nothing has to tick.
    """

    def __init__(
        self, spec: GaugeSpec, now: Callable[[], float], resolve: Resolve = as_named
    ) -> None:
        self.spec = spec
        self.last: Reading | None = None
        self.readings = 0
        self.wire: Wire = WIRES[spec.profile.wire].described(spec.profile.model_dump())
        self.link = Link(spec.port, PortSettings(**spec.profile.serial.model_dump()), now, resolve)
        self._now = now
        self._intervals_s: deque[float] = deque(maxlen=INTERVALS_KEPT)
        self._t_s = 0.0
        self._joined = False  # the last reading joins on what comes next
        self._told = False  # readings went out since the last break mark
        self._answered = True

    async def batches(self) -> AsyncGenerator[list[Reading], None]:
        """Readings as they come, in order of time.

        All readings of one chunk of bytes carry the time it arrived (to 0.1 ms, never going
        back): several lines that the system handed over at once share it. An empty list is the
        break mark: what comes next does not join on what came before (the port went away, or
        bytes were lost), so whatever is being captured starts again.
        """
        async with aclosing(self.said()) as said:
            async for chunk, batch in said:
                if chunk.start is not Start.GOES_ON and self._told:
                    self._told = False
                    yield []
                if batch:
                    self._told = True
                    yield batch

    async def said(self) -> AsyncGenerator[tuple[Chunk, list[Reading]], None]:
        """The same with the bytes it was read from, for whoever wants to see them."""
        period_s = self.spec.profile.period_s
        asking = asyncio.create_task(self._ask(period_s)) if period_s else None
        try:
            async with aclosing(self.link.chunks()) as chunks:
                async for chunk in chunks:
                    yield chunk, self._hear(chunk)
        finally:
            if asking is not None:
                asking.cancel()

    def stop(self) -> None:
        """End `batches` at its next turn; the port is then closed."""
        self.link.stop()

    @property
    def state(self) -> GaugeState:
        """How it stands now, by the clock handed in."""
        if self.link.state is LinkState.GONE:
            return GaugeState.GONE
        if self.spec.speaks is Speaks.BUTTON:
            return GaugeState.WAITING
        quiet = self._quiet_s()
        return GaugeState.SPEAKING if quiet <= self.silent_after_s() else GaugeState.SILENT

    @property
    def trouble(self) -> str:
        """What is wrong and what to do about it, or "" when nothing is."""
        if self.link.state is LinkState.GONE:
            return self.link.trouble
        if self.wire.rejected_messages and self.last is None:
            return (
                f"{self.spec.name} sends something that profile {self.spec.profile.name} does not "
                f"understand: {self.wire.last_rejected!r}. Check profile, speed and parity with "
                f"`benchtally gauges --listen {self.spec.port}`."
            )
        if self.state is GaugeState.SILENT:
            return (
                f"{self.spec.name} has said nothing for {self._quiet_s():.0f} s. Is it switched "
                "on, and sending?"
            )
        return ""

    def silent_after_s(self) -> float:
        """How long a streaming gauge may say nothing before it counts as silent."""
        if not self._intervals_s:
            return SILENT_AFTER_S
        return max(SILENT_AFTER_S, SILENT_AFTER_INTERVALS * median(self._intervals_s))

    def _quiet_s(self) -> float:
        heard_t_s = self.last.t_s if self.last is not None else self.link.opened_t_s
        return self._now() - max(heard_t_s, self.link.opened_t_s)

    def _hear(self, chunk: Chunk) -> list[Reading]:
        if chunk.start is not Start.GOES_ON:
            torn = chunk.start is not Start.OPENED or chunk.quiet_s < QUIET_S
            self.wire.restart(torn=torn)
            self._intervals_s.clear()
            self._joined = False
        heard = self.wire.feed(chunk.data)
        if not heard:
            return []
        self._answered = True
        t_s = max(self._t_s, on_time_grid(chunk.t_s))
        batch: list[Reading] = []
        for run in heard:
            if not self.spec.channel or run.channel == self.spec.channel:
                batch += self._readings(run, t_s)
        if batch:
            if self._joined:
                self._intervals_s.append((t_s - self._t_s) / len(batch))
            self._joined = True
            self._t_s = t_s
            self.readings += len(batch)
            self.last = batch[-1]
        return batch

    def _readings(self, run: Heard, t_s: float) -> list[Reading]:
        """The fast path of the whole folder: about 0.5 us a reading."""
        name, channel, state = self.spec.name, run.channel, run.state
        commit = run.commit or self.spec.speaks is Speaks.BUTTON
        source = self.spec.unit if self.spec.unit and not run.unit else None
        source = source or self.spec.profile.unit_of(run.unit)
        unit, factor = CANONICAL[source]
        if state is not State.OK:
            values = [float("nan")] * len(run.numbers)
        elif factor == 1:
            # With at most six decimals the float next to the text is the one on the grid; adding
            # zero turns -0.0 into 0.0, which the grid does not know.
            values = [float(number) + 0.0 for number in run.numbers]
        else:
            values = [on_value_grid(Decimal(number) * factor) for number in run.numbers]
        if self.spec.reverse:
            values = [0.0 - value for value in values]
        # The plain constructor of a NamedTuple costs twice as much.
        new = tuple.__new__
        return [
            new(Reading, (name, channel, t_s, value, unit, state, False, commit))
            for value in values
        ]

    async def _ask(self, period_s: float) -> None:
        """Send the request every period, but not again before it was answered or given up."""
        unanswered_periods = 0
        while True:
            if self._answered or unanswered_periods >= UNANSWERED_PERIODS_MAX:
                unanswered_periods = 0
                self._answered = not await self.link.write(self.wire.ask())
            unanswered_periods += 1
            await asyncio.sleep(period_s)
