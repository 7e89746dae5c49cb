"""Whether the part on a gauge moves, and whether it can still be the one measured before."""

from collections import deque
from collections.abc import Sequence

import numpy as np

from drivers.reading import Reading, State

WATCHED_S = 1.0
# A stream that paused this long was not the same uninterrupted movement.
GAP_S = 1.0
_WATCHED_MAX = 4096  # at 1000 readings a second WATCHED_S needs a quarter of this
MOVING_STEPS = 5.0
MOVING_MM_MIN = 0.004
# Noise and drift between two visits to the same surface stay within this.
SAME_BAND_MM = 0.002
SAME_BAND_STEPS = 2.0


class Stream:
    """The last second of one gauge. A constant amount is kept, whatever the rate.

    highest: the most it has shown since it was first heard, twice running.
    """

    def __init__(self, resolution_mm: float) -> None:
        self._resolution_mm = resolution_mm
        self._recent: deque[tuple[float, float]] = deque(maxlen=_WATCHED_MAX)
        self._gap_t_s = float("-inf")
        self.last: Reading | None = None
        self.highest: float | None = None

    def feed(self, readings: Sequence[Reading]) -> None:
        """Take what the gauge said."""
        for reading in readings:
            if self.last is not None and reading.t_s - self.last.t_s > GAP_S:
                self._gap_t_s = reading.t_s
            self.last = reading
            if reading.state is State.OK:
                if self._recent:
                    both = min(self._recent[-1][1], reading.value)
                    self.highest = both if self.highest is None else max(self.highest, both)
                self._recent.append((reading.t_s, reading.value))
        while self._recent and self.last and self._recent[0][0] < self.last.t_s - WATCHED_S:
            self._recent.popleft()

    def pause(self, t_s: float) -> None:
        """Learn that nothing came up to `t_s`."""
        if self.last is not None and t_s - self.last.t_s > GAP_S:
            self._gap_t_s = t_s

    def paused_since(self, t_s: float) -> bool:
        """Whether the stream paused at any time after `t_s`."""
        return self._gap_t_s > t_s

    @property
    def moving(self) -> bool:
        """Whether the last second spans more than a still gauge's noise does."""
        values = [value for _, value in self._recent]
        if not values:
            return False
        allowed = max(MOVING_STEPS * self._resolution_mm, MOVING_MM_MIN)
        return max(values) - min(values) > allowed

    @property
    def level(self) -> float | None:
        """The mean of the last second while the gauge is still, else None."""
        if not self._recent or self.moving:
            return None
        return float(np.mean([value for _, value in self._recent]))


def same_band(before: Sequence[Reading], now: Sequence[Reading], resolution_mm: float) -> bool:
    """Whether two traces run between the same two heights, so that both may be of one part.

    Another valve of the same size lies at another height in the V-blocks, or bends otherwise;
    the inner 96 % of the readings are compared, so that lint decides nothing.
    """
    allowed = max(SAME_BAND_STEPS * resolution_mm, SAME_BAND_MM)
    ends = [
        np.quantile([r.value for r in trace if r.state is State.OK] or [np.nan], (0.02, 0.98))
        for trace in (before, now)
    ]
    return bool(np.all(np.abs(ends[0] - ends[1]) <= allowed))
