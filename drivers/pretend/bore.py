"""A two-point bore gauge rocked in a guide. Invented physics.

Tilted by an angle, a two-point gauge touches a cylinder of diameter D over D / cos(angle), so the
reading is least where it stands square, and the least reading is the diameter.
"""

import numpy as np

from drivers.pretend.motion import Floats, eased


class RockedBore:
    """The gauge goes in, is rocked `swings` times from side to side, and stays in the bore.

    zero_mm: the size at which the gauge shows zero. Each swing has its own reach on either side
    and its own pace. lost: so many times the tip slips for a moment and the gauge shows less.
    """

    def __init__(
        self,
        diameter_mm: float,
        zero_mm: float,
        rng: np.random.Generator,
        *,
        swings: int = 6,
        lost: int = 0,
    ) -> None:
        self.truth_mm = diameter_mm
        self._zero_mm = zero_mm
        self._in_s = float(rng.uniform(0.5, 1.0))
        half_swings_s = rng.uniform(0.7, 1.6, swings)
        self._turn_s = self._in_s + np.concatenate(([0.0], np.cumsum(half_swings_s)))
        reach = np.deg2rad(rng.uniform(4.0, 9.0, swings + 1))
        side = 1.0 if rng.random() < 0.5 else -1.0
        self._tilt = side * reach * np.where(np.arange(swings + 1) % 2, -1.0, 1.0)
        self.duration_s = float(self._turn_s[-1])
        self._lost_s = rng.uniform(self._in_s, self.duration_s, lost)

    def tilt_at(self, t_s: Floats) -> Floats:
        """Angle from square, in radians; the hand slows down at both ends of a swing."""
        swing = np.clip(np.searchsorted(self._turn_s, t_s, "right") - 1, 0, len(self._tilt) - 2)
        begin_s, end_s = self._turn_s[swing], self._turn_s[swing + 1]
        share = np.clip((t_s - begin_s) / (end_s - begin_s), 0.0, 1.0)
        there = 0.5 - 0.5 * np.cos(np.pi * share)
        tilt: Floats = self._tilt[swing] + (self._tilt[swing + 1] - self._tilt[swing]) * there
        return tilt

    def at(self, t_s: Floats, from_mm: float) -> Floats:
        """See `Motion`."""
        in_bore_mm = self.truth_mm / np.cos(self.tilt_at(t_s)) - self._zero_mm
        for lost_s in self._lost_s:
            in_bore_mm = in_bore_mm - 0.2 * ((t_s >= lost_s) & (t_s < lost_s + 0.06))
        share = eased(t_s / self._in_s)
        return from_mm * (1 - share) + in_bore_mm * share
