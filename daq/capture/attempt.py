"""`Attempt`: the readings of one gauge on their way to one value, kept raw as they come.

It adds to a bare capture what a bench needs: readings that cannot be of the part are left out
(an open micrometer stands still, too), a value that is the difference of two settled readings
takes both, and the trace is kept so that evaluating it again gives the value again.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from daq.capture.base import Capture, Captured, Hint, Kind, Progress, Setup
from daq.capture.evaluate import new_capture
from daq.metrology.measured import Contribution, Measured
from drivers.reading import Reading, State

# Nobody turns one valve for longer; past this the oldest attempt is hopeless and starts again.
READINGS_MAX = 500_000


@dataclass(frozen=True, slots=True)
class Aim:
    """What an attempt is for.

    window: what a reading can be while the gauge is on the part, in its unit; None for anything.
    zeros: settled readings taken before the one on the part (a recess: first the head face).
    moved_first: stillness counts only after a movement, because the gauge was still before.
    """

    kind: Kind
    setup: Setup
    window: tuple[float, float] | None = None
    zeros: int = 0
    moved_first: bool = False


class Attempt:
    """One try at one value by one gauge. Deterministic: same readings, same value.

    missed: what the gauge's own button sent last, where it cannot be of the part.
    """

    def __init__(self, aim: Aim) -> None:
        self.aim = aim
        self.missed: Reading | None = None
        self._trace: list[Reading] = []
        self._finished: list[Captured] = []
        self._capture = self._fresh(moved_first=aim.moved_first)

    @property
    def trace(self) -> Sequence[Reading]:
        """Every reading that took part, in order."""
        return self._trace

    @property
    def begun(self) -> bool:
        """Whether something of the part has been seen."""
        return bool(self._finished) or self._capture.progress().hint is not Hint.BEGIN

    @property
    def done(self) -> bool:
        """Whether the value stands."""
        return len(self._finished) > self.aim.zeros

    @property
    def stage(self) -> int:
        """0 for the first zero, up to `aim.zeros` for the part itself."""
        return min(len(self._finished), self.aim.zeros)

    def feed(self, readings: Sequence[Reading]) -> None:
        """Take readings one by one, so that a batch never carries two stages past each other."""
        if self.aim.window is None and self.aim.zeros == 0:
            if not self.done:
                self._take(readings)
            return
        for reading in readings:
            if self.done:
                return
            self._take((reading,))

    def rest(self, t_s: float) -> None:
        """Learn that nothing came up to `t_s`; silence ends the last stage only, never a zero."""
        if self.stage == self.aim.zeros and not self.done:
            self._capture.rest(t_s)
            self._finish_stage()

    def keep_as_is(self) -> None:
        """End the attempt with what was seen so far: a person's word, not the capture's."""
        if not self.done:
            self._finished.append(self._capture.result())

    def keep_as_turned(self) -> None:
        """End the attempt of a part that hardly moved: a person's word that it was turned."""
        self.aim = replace(self.aim, setup=replace(self.aim.setup, turned=True))
        self._finished.append(replayed(self.aim, self._trace))

    def progress(self) -> Progress:
        """How far the current stage is; the difference so far where zeros were taken."""
        now = self._capture.progress()
        if self._trace:
            now = replace(now, since_s=self._trace[0].t_s, until_s=self._trace[-1].t_s)
        zero = self._finished[0].measured if self.aim.zeros and self._finished else None
        if zero is None or now.value is None:
            return now
        return replace(now, value=zero.value - now.value)

    def result(self) -> Captured:
        """The value: of the one capture, or first settled reading − last settled reading."""
        if self.aim.zeros == 0 or len(self._finished) < 2:
            return self._finished[0] if self._finished else self._capture.result()
        return _difference(self._finished[0], self._finished[-1])

    def _take(self, readings: Sequence[Reading]) -> None:
        window = self.aim.window
        if window is not None and not all(_within(reading, window) for reading in readings):
            self.missed = readings[-1] if readings[-1].commit else self.missed
            # Off the part: what stood still so far was not a measurement of it. The reading that
            # said so stays in the trace, so that evaluating it again starts anew here, too.
            if not self._finished:
                self._trace.clear()
            self._trace.extend(readings)
            self._capture = self._fresh(moved_first=False)
            return
        if len(self._trace) + len(readings) > READINGS_MAX:
            self._trace.clear()
            self._finished.clear()
            self._capture = self._fresh(moved_first=self.aim.moved_first)
        self.missed = None
        self._trace.extend(readings)
        self._capture.feed(readings)
        self._finish_stage()

    def _finish_stage(self) -> None:
        if not self._capture.done:
            return
        self._finished.append(self._capture.result())
        if not self.done:
            self._capture = self._fresh(moved_first=True)

    def _fresh(self, *, moved_first: bool) -> Capture:
        return new_capture(self.aim.kind, self.aim.setup, moved_first=moved_first)


def replayed(aim: Aim, trace: Sequence[Reading]) -> Captured:
    """The value of a stored trace, evaluated again the way it was captured."""
    attempt = Attempt(aim)
    attempt.feed(trace)
    return attempt.result()


def _within(reading: Reading, window: tuple[float, float]) -> bool:
    return reading.state is State.OK and window[0] <= reading.value <= window[1]


def _difference(zero: Captured, part: Captured) -> Captured:
    """zero − part: an indicator's plunger falls into a recess, so a deep valve is positive."""
    if zero.measured is None or part.measured is None:
        return replace(part, complete=False)
    budget = (
        *(_named(line, "on the face") for line in zero.measured.budget),
        *(_named(line, "on the part") for line in part.measured.budget),
    )
    return Captured(
        part.kind,
        Measured(zero.measured.value - part.measured.value, part.measured.unit, budget),
        complete=zero.complete and part.complete,
        reason=zero.reason or part.reason,
        warnings=tuple(dict.fromkeys((*zero.warnings, *part.warnings))),
        detail={
            "on_the_face": zero.measured.value,
            "on_the_part": part.measured.value,
            "face": zero.detail,
            "part": part.detail,
        },
    )


def _named(line: Contribution, where: str) -> Contribution:
    return replace(line, name=f"{line.name}, {where}")
