"""`Gauge`: one gauge on its port, as a stream of batches of readings."""

from collections import deque
from collections.abc import AsyncGenerator, Callable, Sequence
from contextlib import aclosing
from decimal import Decimal
from statistics import median

from drivers.gauge.spec import GaugeSpec, GaugeState, Speaks
from drivers.gauge.units import UnitWatch
from drivers.gauge.voice import Utterance, Voice
from drivers.link import Chunk, Keys, Link, LinkState, Resolve, Start, as_named
from drivers.profile import CANONICAL, SourceUnit
from drivers.reading import Reading, State, on_time_grid, on_value_grid
from drivers.wires.base import Heard, Wire

SILENT_AFTER_S = 1.0
SILENT_AFTER_INTERVALS = 5
INTERVALS_KEPT = 31

Segments = list[list[Reading]]
"""The readings of one chunk; between two segments the gauge was switched to another unit."""


class Gauge:
    """One gauge on one port.

    now: a steady clock in seconds. resolve: turns the configured port into what can be opened.
    voice: the port, where it is shared with other gauges (see `gauges_of`).

    last: the newest reading or None. readings: how many came. Also the counters of `link` and
    `wire`. state, trouble and note are worked out when asked for, so nothing has to tick.
    """

    def __init__(
        self,
        spec: GaugeSpec,
        now: Callable[[], float],
        resolve: Resolve = as_named,
        voice: Voice | None = None,
    ) -> None:
        self.spec = spec
        self.last: Reading | None = None
        self.readings = 0
        self.voice = voice or Voice(spec.port, spec.profile, now, resolve)
        self.voice.gauges += 1
        self._now = now
        self._units = UnitWatch()
        self._intervals_s: deque[float] = deque(maxlen=INTERVALS_KEPT)
        self._t_s = 0.0
        self._joined = False  # the last reading joins on what comes next
        self._told = False  # readings went out since the last break mark
        self._rejected_messages = 0  # of the wire, when the last reading came

    @property
    def link(self) -> Link | Keys:
        """Its port."""
        return self.voice.link

    @property
    def wire(self) -> Wire:
        """Its way of speaking."""
        return self.voice.wire

    async def batches(self) -> AsyncGenerator[list[Reading], None]:
        """Readings as they come, in order of time.

        All readings of one chunk of bytes carry the time it arrived (to 0.1 ms, never going
        back): several lines that the system handed over at once share it. An empty list is the
        break mark: what comes next does not join on what came before (the port went away, bytes
        were lost, the gauge was switched to another unit), so whatever is being captured starts
        again.
        """
        async with aclosing(self.voice.said()) as said:
            async for utterance in said:
                if utterance.chunk.start is not Start.GOES_ON and self._told:
                    self._told = False
                    yield []
                for number, segment in enumerate(self.take(utterance)):
                    if number and self._told:
                        yield []
                    if segment:
                        self._told = True
                        yield segment

    async def said(self) -> AsyncGenerator[tuple[Chunk, list[Reading]], None]:
        """The same with the bytes it was read from, for whoever wants to see them."""
        async with aclosing(self.voice.said()) as said:
            async for utterance in said:
                segments = self.take(utterance)
                yield utterance.chunk, [reading for segment in segments for reading in segment]

    async def ask_now(self) -> bool:
        """Ask for one reading, where the profile says how; it comes out of `batches` as a commit.

        False when no answer came. Raises TypeError where the profile has nothing to ask with.
        """
        return await self.voice.ask_now()

    def stop(self) -> None:
        """End `batches` at its next turn, for all gauges on the port; it is then closed."""
        self.link.stop()

    @property
    def state(self) -> GaugeState:
        """How it stands now, by the clock handed in."""
        if self.link.state is LinkState.GONE:
            return GaugeState.GONE
        if self._on_its_button or self.spec.profile.speaks_when_asked:
            return GaugeState.WAITING
        quiet = self._quiet_s()
        return GaugeState.SPEAKING if quiet <= self.silent_after_s() else GaugeState.SILENT

    @property
    def trouble(self) -> str:
        """What is wrong and what to do about it, or "" when nothing is."""
        if self.link.state is LinkState.GONE:
            return self.link.trouble
        if doubted := self._units.doubted:
            return (
                f"The numbers of {self.spec.name} look as if it had been switched to {doubted}, "
                "and it does not say its unit. They are not used until it is switched back or "
                "the port is opened anew."
            )
        silent = self.state is GaugeState.SILENT or self.last is None
        if silent and self.wire.rejected_messages > self._rejected_messages:
            return (
                f"{self.spec.name} sends something that profile {self.spec.profile.name} does not "
                f"understand: {self.wire.last_rejected!r}. Check profile, speed and parity with "
                f"`benchtally gauges --listen {self.spec.port}`."
            )
        if self.state is GaugeState.SILENT:
            return f"{self.spec.name} {self.voice.silence(self._quiet_s())}"
        return ""

    @property
    def note(self) -> str:
        """What is worth knowing and not wrong: the gauge was switched to another unit."""
        if not self._units.switches:
            return ""
        return (
            f"{self.spec.name} was switched from {self._units.before} to {self._units.spoken}; "
            "its numbers are converted."
        )

    def silent_after_s(self) -> float:
        """How long a streaming gauge may say nothing before it counts as silent."""
        if not self._intervals_s:
            return SILENT_AFTER_S
        return max(SILENT_AFTER_S, SILENT_AFTER_INTERVALS * median(self._intervals_s))

    @property
    def _on_its_button(self) -> bool:
        return self.spec.speaks is Speaks.BUTTON or self.spec.profile.wire == "typed"

    def _quiet_s(self) -> float:
        heard_t_s = self.last.t_s if self.last is not None else self.link.opened_t_s
        return self._now() - max(heard_t_s, self.link.opened_t_s)

    def take(self, utterance: Utterance) -> Segments:
        """The readings of this gauge in what was said on its port."""
        chunk = utterance.chunk
        if chunk.start is not Start.GOES_ON:
            self._intervals_s.clear()
            self._joined = False
            self._units.restart()
        if not utterance.heard:
            return []
        t_s = max(self._t_s, on_time_grid(chunk.t_s))
        segments: Segments = [[]]
        for run in utterance.heard:
            if self._is_mine(run):
                source = self._source_unit(run)
                if run.state is State.OK and self._units.switched(source):
                    segments.append([])
                segments[-1] += self._readings(run, source, t_s, utterance.commit)
        count = sum(map(len, segments))
        if count:
            if self._joined:
                self._intervals_s.append((t_s - self._t_s) / count)
            self._joined = True
            self._t_s = t_s
            self.readings += count
            self.last = segments[-1][-1]
            self._rejected_messages = self.wire.rejected_messages
        return segments

    def _is_mine(self, run: Heard) -> bool:
        """A number on this channel; or trouble that a whole box has, which names no channel."""
        if not self.spec.channel or run.channel == self.spec.channel:
            return True
        return not run.channel and run.state is not State.OK

    def _source_unit(self, run: Heard) -> SourceUnit:
        if self.spec.unit and not run.unit:
            return self.spec.unit
        return self.spec.profile.unit_of(run.unit)

    def _readings(self, run: Heard, source: SourceUnit, t_s: float, commit: bool) -> list[Reading]:
        """The fast path of the whole folder: about 0.5 us a reading."""
        name, channel, state = self.spec.name, run.channel, run.state
        commit = commit or run.commit or self._on_its_button
        unit, factor = CANONICAL[source]
        if state is State.OK and not run.unit and self._units.doubts(source, run.numbers):
            state = State.ERROR
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


def gauges_of(
    specs: Sequence[GaugeSpec], now: Callable[[], float], resolve: Resolve = as_named
) -> list[Gauge]:
    """A gauge for each spec, in order; those on the same port (a channel box) share it.

    Raises ValueError with a sentence when they do not agree on how the port speaks.
    """
    voices: dict[str, Voice] = {}
    gauges = []
    for spec in specs:
        voice = voices.setdefault(spec.port, Voice(spec.port, spec.profile, now, resolve))
        if voice.profile != spec.profile:
            raise ValueError(
                f"{spec.name} is on {spec.port} with profile {spec.profile.name}, and another "
                f"gauge with profile {voice.profile.name}: one port speaks one way. Give both "
                "the same profile."
            )
        gauges.append(Gauge(spec, now, resolve, voice))
    return gauges
