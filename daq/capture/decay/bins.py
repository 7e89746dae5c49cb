"""`Bins`: a decay of any length as a bounded number of means over time."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drivers.reading import TIME_STEPS_PER_S

Vector = NDArray[np.float64]

_WIDTH_S = 0.1  # far shorter than a gas takes to settle
# Whole steps of time: a reading on the border of two bins falls into the same one always.
_WIDTH = round(_WIDTH_S * TIME_STEPS_PER_S)
# 40 s at first; whenever they are full, neighbours are joined and the width doubles.
BINS_MOST = 400


@dataclass(frozen=True, slots=True)
class Curve:
    """Means over time: t_s since the start, pressures in mbar below ambient, readings in each."""

    t_s: Vector
    below_mbar: Vector
    counts: Vector

    def since(self, start_s: float) -> "Curve":
        """The part from `start_s` on, its time counted from there."""
        keep = self.t_s >= start_s
        return Curve(self.t_s[keep] - start_s, self.below_mbar[keep], self.counts[keep])


class Bins:
    """Sums of time, pressure and count for each stretch of time, from the first reading on."""

    def __init__(self) -> None:
        self._width = _WIDTH
        self._first = 0
        self._sums: list[list[float]] = []
        self.readings = 0

    def add(self, t_s: float, below_mbar: float) -> None:
        """Take one reading."""
        time = round(t_s * TIME_STEPS_PER_S)
        if not self._sums:
            self._first = time
        self.readings += 1
        since = max(time - self._first, 0)
        while since // self._width >= BINS_MOST:
            self._join()
        place = since // self._width
        while place >= len(self._sums):
            self._sums.append([0.0, 0.0, 0.0])
        one = self._sums[place]
        one[0] += since / TIME_STEPS_PER_S
        one[1] += below_mbar
        one[2] += 1.0

    def _join(self) -> None:
        pairs = zip(self._sums[::2], [*self._sums[1::2], [0.0, 0.0, 0.0]], strict=False)
        self._sums = [[math.fsum(both) for both in zip(*pair, strict=True)] for pair in pairs]
        self._width *= 2

    def curve(self) -> Curve:
        """The means so far."""
        sums = np.array([one for one in self._sums if one[2] > 0]).reshape(-1, 3)
        counts = sums[:, 2]
        return Curve(sums[:, 0] / counts, sums[:, 1] / counts, counts)
