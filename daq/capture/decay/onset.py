"""Where a decay begins and ends: the pump before it and the venting after it are no leak."""

import math

import numpy as np

from daq.capture.decay.bins import Curve

# While the pump runs the vacuum grows; a rise above the start by more than this starts anew.
_RISE_MBAR, _RISE_SHARE, _RISE_STEPS = 0.5, 0.001, 5.0
# One drop so much larger than those before it, and so large, is a hand at the valve.
_VENT_TIMES, _VENT_SHARE = 10.0, 0.02
_VENT_AFTER = 4
# Below half of the start only the end of the curve is left, and it says little about the start.
_ENOUGH_SHARE = 0.5
# A leak slows down as the vacuum goes. A loss that grows means that the pump still held it.
_BEND_SIGMAS = 4.0
_START_SHARES = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5)
_POINTS_LEAST = 8


class Onset:
    """Sorts readings as they come: start anew, take, or over."""

    def __init__(self) -> None:
        self._start_mbar = -math.inf
        self._last_mbar = 0.0
        self._drops: list[float] = []
        self.over = False

    def starts(self, below_mbar: float, step_mbar: float) -> bool:
        """Whether the pump still pulled when this reading came, so that all before it is void."""
        rise = max(_RISE_MBAR, _RISE_SHARE * below_mbar, _RISE_STEPS * step_mbar)
        if below_mbar <= self._start_mbar + rise:
            return False
        self._start_mbar = self._last_mbar = below_mbar
        self._drops.clear()
        self.over = False
        return True

    def takes(self, below_mbar: float) -> bool:
        """Whether this reading belongs to the decay; once one does not, none after it does."""
        drop = self._last_mbar - below_mbar
        if not self.over and not self._is_vented(drop):
            self._last_mbar = below_mbar
            self._drops.append(abs(drop))
            self.over = below_mbar < _ENOUGH_SHARE * self._start_mbar
            return True
        self.over = True
        return False

    def _is_vented(self, drop_mbar: float) -> bool:
        if drop_mbar < _VENT_SHARE * self._start_mbar or len(self._drops) < _VENT_AFTER:
            return False
        return drop_mbar > _VENT_TIMES * float(np.median(self._drops))


def trimmed(curve: Curve) -> tuple[Curve, float]:
    """The curve from where the loss stops growing, and how many seconds were left out.

    Where it grows to the end, the whole curve: `grows` says so of it.
    """
    length_s = float(curve.t_s[-1])
    for share in _START_SHARES:
        later = curve.since(share * length_s)
        if len(later.t_s) < _POINTS_LEAST:
            break
        if not grows(later):
            return later, share * length_s
    return curve, 0.0


def grows(curve: Curve) -> bool:
    """Whether the loss gets faster, beyond what the readings' noise can fake."""
    if len(curve.t_s) < _POINTS_LEAST:
        return False
    weight = np.sqrt(curve.counts)
    design = np.vander(curve.t_s / curve.t_s[-1], 3) * weight[:, None]
    goal = curve.below_mbar * weight
    bend, residuals = np.linalg.lstsq(design, goal, rcond=None)[:2]
    scatter = math.sqrt(float(residuals.sum()) / (len(curve.t_s) - 3))
    u = scatter * math.sqrt(float(np.linalg.pinv(design.T @ design)[0, 0]))
    return float(bend[0]) < -_BEND_SIGMAS * max(u, 1e-12)
