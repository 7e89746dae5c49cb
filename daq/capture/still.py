"""`StillWindow`: is a reading held still, by the gauge's own noise? Constant cost per reading.

Two measures of scatter are compared (von Neumann's ratio): the spread about the mean, and the
spread from one reading to the next. For a gauge that merely trembles they agree; for one that
moves to and fro the first grows and the second does not. A straight line through the window
shows one that creeps. All sums are of whole numbers, so nothing drifts however long it runs.
"""

import math
from collections import deque
from dataclasses import dataclass

from drivers.reading import TIME_STEPS_PER_S, VALUE_STEPS_PER_UNIT

STILL_S = 0.7
STILL_COUNT = 8
# 0.7 s at 10 000/s: whatever the rate, the window never holds more.
MOST_KEPT = 7000
# Ratio of the two variances. A jump at an end of the window makes it 2 (n - 1)/n. Noise alone may
# exceed 1.5 in one window of eight, and then does not in a later one.
_RATIO_MOST = 1.5
_CREEP_SIGMAS = 3.0


@dataclass(frozen=True, slots=True)
class Window:
    """What the last readings look like, in the readings' unit."""

    mean: float
    s: float  # spread about the mean
    tremble: float  # spread as seen from one reading to the next
    creep: float  # how far a straight line through the readings moves over the window
    count: int
    span_s: float

    def is_still(self, step: float, tremble_most: float) -> bool:
        """Only the gauge's own noise is left. `tremble_most`: more than this is a moving part."""
        if self.count < STILL_COUNT or self.span_s < STILL_S or self.tremble > tremble_most:
            return False
        # A reading on the edge between two steps flips, and that means nothing.
        creep_most = step + _CREEP_SIGMAS * self.tremble * math.sqrt(12 / self.count)
        ratio_holds = self.s**2 <= _RATIO_MOST * self.tremble**2 + (step / 2) ** 2
        return ratio_holds and abs(self.creep) <= creep_most


class StillWindow:
    """The readings of the last STILL_S seconds, and at least STILL_COUNT of them."""

    def __init__(self) -> None:
        self._readings: deque[tuple[int, int]] = deque()
        self.clear()

    def clear(self) -> None:
        """Forget everything: the reading was lost."""
        self._readings.clear()
        self._origin = (0, 0)
        self._v = self._vv = self._t = self._tt = self._tv = self._dd = 0

    def feed(self, t_s: float, value: float) -> None:
        """Take one reading and drop what is too old."""
        time, count = round(t_s * TIME_STEPS_PER_S), round(value * VALUE_STEPS_PER_UNIT)
        if not self._readings:
            self._origin = (time, count)
        time, count = time - self._origin[0], count - self._origin[1]
        if self._readings:
            self._dd += (count - self._readings[-1][1]) ** 2
        self._readings.append((time, count))
        self._add(time, count, 1)
        oldest = time - STILL_S * TIME_STEPS_PER_S
        while len(self._readings) > STILL_COUNT and (
            self._readings[1][0] <= oldest or len(self._readings) > MOST_KEPT
        ):
            time, count = self._readings.popleft()
            self._add(time, count, -1)
            self._dd -= (self._readings[0][1] - count) ** 2

    def _add(self, time: int, count: int, sign: int) -> None:
        self._v += sign * count
        self._vv += sign * count * count
        self._t += sign * time
        self._tt += sign * time * time
        self._tv += sign * time * count

    def window(self) -> Window | None:
        """What is in it; None before the second reading."""
        count = len(self._readings)
        if count < 2:
            return None
        span = self._readings[-1][0] - self._readings[0][0]
        of_times = count * self._tt - self._t**2
        slope = (count * self._tv - self._t * self._v) / of_times if of_times else 0.0
        spread = (count * self._vv - self._v**2) / (count * (count - 1))
        scale = VALUE_STEPS_PER_UNIT
        return Window(
            mean=(self._origin[1] + self._v / count) / scale,
            s=math.sqrt(spread) / scale,
            tremble=math.sqrt(self._dd / (2 * (count - 1))) / scale,
            creep=slope * span / scale,
            count=count,
            span_s=span / TIME_STEPS_PER_S,
        )
