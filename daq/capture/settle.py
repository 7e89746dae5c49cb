"""`Settle`: the value of a reading held still, or sent by the gauge's own button."""

import math
from collections.abc import Sequence
from typing import Any, ClassVar

from daq.capture.base import Captured, Hint, Kind, Progress, Setup
from daq.capture.budget import gauge_lines, resolution_line
from daq.capture.step import StepFinder
from daq.capture.still import STILL_COUNT, STILL_S, StillWindow, Window
from daq.metrology.measured import Contribution, Evaluation, Measured
from drivers.reading import Reading, State, Unit

# More from one reading to the next than this is a part in motion, not a gauge's own noise.
TREMBLE_STEPS_MOST = 5.0
TREMBLE_MM_MOST = 0.002
# What tells a hand that brings the part from a gauge that idles.
_MOVED_STEPS = 20.0
_MOVED_MM = 0.02
_MOVED_READINGS = 2


class Settle:
    """Done with the first window in which the reading was still; later readings change nothing.

    moved_first: stillness counts only after the reading has moved since the start, because
    idle gauges stream, too. The gauge's button counts always. Silence is not stillness.
    """

    kind: ClassVar[Kind] = Kind.SETTLE

    def __init__(self, setup: Setup, moved_first: bool = False) -> None:
        self._setup = setup
        self._step = StepFinder(setup.resolution)
        self._window = StillWindow()
        self._unit = Unit.MM  # until the first reading says
        self._start: float | None = None
        self._away = 0
        self._moved = not moved_first
        self._lost = 0
        self._settled: Window | None = None
        self._pressed: Reading | None = None

    @property
    def done(self) -> bool:
        """The reading was still, or the button was pressed."""
        return self._settled is not None or self._pressed is not None

    def feed(self, readings: Sequence[Reading]) -> None:
        """Take more readings; those after the value was found are left out."""
        for reading in readings:
            if self.done:
                return
            if reading.state is State.OK:
                self._take(reading)
            elif reading.state in (State.OVER_RANGE, State.ERROR):
                self._lost += 1
                self._window.clear()

    def rest(self, t_s: float) -> None:
        """Ignore it: a gauge that says nothing may be unplugged."""

    def _take(self, reading: Reading) -> None:
        self._unit = reading.unit
        self._step.feed(reading.value)
        if reading.commit:
            self._pressed = reading
            return
        if self._start is None:
            self._start = reading.value
        if not self._moved:
            away = abs(reading.value - self._start) > self._at_least(_MOVED_STEPS, _MOVED_MM)
            self._away = self._away + 1 if away else 0
            self._moved = self._away >= _MOVED_READINGS
        self._window.feed(reading.t_s, reading.value)
        window = self._window.window()
        if self._moved and window is not None and self._is_still(window):
            self._settled = window

    def _is_still(self, window: Window) -> bool:
        return window.is_still(self._step.step, self._at_least(TREMBLE_STEPS_MOST, TREMBLE_MM_MOST))

    def _at_least(self, steps: float, length_mm: float) -> float:
        floor = length_mm if self._unit is Unit.MM else 0.0
        return max(steps * self._step.step, floor)

    def progress(self) -> Progress:
        """Value so far, and how much of the time a still reading needs has been still."""
        if self._pressed is not None:
            return Progress(Hint.DONE, 1.0, self._pressed.value, done=True)
        if self._settled is not None:
            return Progress(Hint.DONE, 1.0, self._settled.mean, done=True)
        window = self._window.window()
        if window is None or not self._moved:
            return Progress(Hint.BEGIN, 0.0, window.mean if window else None)
        share = min(window.span_s / STILL_S, window.count / STILL_COUNT, 0.99)
        return Progress(Hint.HOLD_STILL, share, window.mean)

    def result(self) -> Captured:
        """The mean of the still window, or the number the button sent."""
        detail: dict[str, Any] = {"step": self._step.step, "readings_lost": self._lost}
        if self._pressed is not None:
            detail |= {"by": "button", "t_s": self._pressed.t_s}
            return self._captured(self._pressed.value, (), complete=True, detail=detail)
        window = self._settled or self._window.window()
        if window is None:
            reason = "The gauge sent no number that could be held."
            return Captured(self.kind, None, complete=False, reason=reason, detail=detail)
        detail |= {
            "by": "stillness",
            "readings": window.count,
            "span_s": window.span_s,
            "s": window.s,
            "creep": window.creep,
        }
        scatter = _window_lines(window)
        if self._settled is not None:
            return self._captured(window.mean, scatter, complete=True, detail=detail)
        reason = (
            "The reading has not moved since the start: the gauge may be idle."
            if not self._moved
            else f"The reading was not still for {STILL_S} s and {STILL_COUNT} readings."
        )
        return self._captured(window.mean, scatter, complete=False, reason=reason, detail=detail)

    def _captured(
        self,
        value: float,
        scatter: tuple[Contribution, ...],
        *,
        complete: bool,
        detail: dict[str, Any],
        reason: str = "",
    ) -> Captured:
        budget = (resolution_line(self._step.step), *scatter, *gauge_lines(self._setup))
        measured = Measured(value, self._unit.value, budget)
        return Captured(self.kind, measured, complete=complete, reason=reason, detail=detail)


def _window_lines(window: Window) -> tuple[Contribution, ...]:
    return (
        Contribution(
            "repeatability",
            window.s / math.sqrt(window.count),
            Evaluation.TYPE_A,
            f"spread of {window.count} readings, of their mean",
        ),
        Contribution(
            "creep",
            abs(window.creep) / math.sqrt(12.0),
            Evaluation.TYPE_B,
            "the reading may lie anywhere on the line it still moved along, rectangular",
        ),
    )
