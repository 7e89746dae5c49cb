"""`Leaving`: has the part left the gauge, and has the next one come?

After a value was captured the readings belong to nobody until the part was seen to leave. A part
that goes on turning, a grain of lint, a trembling hand must not pass for leaving; so a reading
has to lie well outside everything the part itself can show, and stay there. Without that a press
is needed, which is the safe side: the next part is opened late, never early.
"""

import math
from collections.abc import Sequence

from daq.capture.band import Band
from daq.capture.base import Kind, Setup
from daq.capture.step import StepFinder
from daq.capture.still import StillWindow
from drivers.reading import Reading, State, Unit

# Lint passes in one to three samples; a part that left stays gone.
STAY_READINGS = 4
STAY_S = 0.15
# A plunger hangs 0.2 to 0.5 mm below a part (its preload): common practice, no source.
_TURN_MM_LEAST, _TURN_RANGES, _TURN_MM_MOST = 0.15, 3.0, 0.5
_ROCK_MM_LEAST, _ROCK_RANGES = 0.1, 0.5
_SETTLE_MM_LEAST, _SETTLE_STEPS = 0.02, 20.0
_SETTLE_SHARE = 0.02  # where the unit is no length
_DECAY_SHARE_LEFT = 0.1


class Leaving:
    """Fed with the readings after a capture; `left` stays true once it became so.

    kind and band: of the capture just done. A look has no gauge, so its part has left at once.
    least: of a gauge that closes on its part, what it can close down to before nothing is in it;
    closing further is no leaving.
    """

    def __init__(self, kind: Kind, band: Band, setup: Setup, least: float | None = None) -> None:
        self._kind = kind
        self._band = band
        self._least = math.inf if least is None else least
        self._margin = _margin(kind, band, setup)
        self._left = kind is Kind.LOOK
        self._arrived = False
        self._run = _Run()
        self._step = StepFinder(setup.resolution)
        self._window = StillWindow()
        self._idle: float | None = None  # the still level without a part, once it was seen

    @property
    def left(self) -> bool:
        """The part was seen to leave."""
        return self._left

    @property
    def arrived(self) -> bool:
        """After leaving, something is under the gauge again: the next part.

        The reading is where a part of this kind shows, or left the level it idled at, and stays.
        """
        return self._arrived

    def feed(self, readings: Sequence[Reading]) -> None:
        """Take more readings, in order of time."""
        for reading in readings:
            if reading.state in (State.OK, State.OVER_RANGE) and not self._arrived:
                self._take(reading)

    def _take(self, reading: Reading) -> None:
        if not self._left:
            if self._run.lasts(self._is_off(reading), reading.t_s):
                self._left = True
                self._run = _Run()
        elif self._kind is not Kind.LOOK:
            self._arrived = self._run.lasts(self._is_back(reading), reading.t_s)
            self._watch_idle(reading)

    def _is_off(self, reading: Reading) -> bool:
        if reading.state is State.OVER_RANGE:
            return True
        if self._kind is Kind.DECAY:
            return reading.value < self._band.high * _DECAY_SHARE_LEFT
        low = min(self._band.low - self._margin, self._least)
        return not low <= reading.value <= self._band.high + self._margin

    def _is_back(self, reading: Reading) -> bool:
        if reading.state is State.OVER_RANGE:
            return False
        if not self._is_off(reading):
            return True
        return self._idle is not None and abs(reading.value - self._idle) > self._margin / 2

    def _watch_idle(self, reading: Reading) -> None:
        if self._idle is not None:
            return
        if reading.state is not State.OK:
            self._window.clear()
            return
        self._step.feed(reading.value)
        self._window.feed(reading.t_s, reading.value)
        window = self._window.window()
        if window is not None and window.is_still(self._step.step, self._margin / 4):
            self._idle = window.mean


class _Run:
    """How long something has been so without a break."""

    def __init__(self) -> None:
        self._count = 0
        self._since_s = 0.0

    def lasts(self, so: bool, t_s: float) -> bool:
        """Take one more reading; true once it was so for STAY_READINGS and STAY_S."""
        if not so:
            self._count = 0
            return False
        if self._count == 0:
            self._since_s = t_s
        self._count += 1
        return self._count >= STAY_READINGS and t_s - self._since_s >= STAY_S


def _margin(kind: Kind, band: Band, setup: Setup) -> float:
    width = band.high - band.low
    if kind is Kind.TURN:
        return max(_TURN_MM_LEAST, min(_TURN_RANGES * width / 2, _TURN_MM_MOST))
    if kind is Kind.ROCK:
        return max(_ROCK_MM_LEAST, _ROCK_RANGES * width)
    if kind is Kind.DECAY:
        return band.high / 2
    floor = _SETTLE_MM_LEAST if band.unit is Unit.MM else _SETTLE_SHARE * abs(band.high)
    return max(_SETTLE_STEPS * (setup.resolution or 0.0), floor)
