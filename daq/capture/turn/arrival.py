"""The way of a plunger onto a part that is set down slowly, which is no part of its turn.

A fast one is a jump, and `trim` cuts it off. A slow one looks like the swing of a part that is bent
by a millimetre, until something is known of the part: then every reading before lies far outside
of all that came since, and nothing has come back to it.
"""

import numpy as np
import numpy.typing as npt

from daq.capture.turn.points import Points
from daq.capture.turn.trim import DEPARTURE_RANGES, HANDLING_S, JUMP_MM

Floats = npt.NDArray[np.float64]


def readings_of_the_way(t_s: Floats, points: Points) -> int:
    """How many readings at the beginning are the way onto the part; at least one is not.

    t_s: of all readings, in s.
    """
    landed = _landed(points.level_mm)
    if landed == 0:
        return 0
    at_rest_s = points.t_s[landed] + HANDLING_S
    return min(int(np.searchsorted(t_s, at_rest_s)), len(t_s) - 1)


def _landed(level_mm: Floats) -> int:
    """The turning point that the way ends at; 0 where there is none.

    One leg and no more may be a way all the same: of the part nothing is known then.
    """
    if len(level_mm) == 2:
        return int(abs(level_mm[1] - level_mm[0]) > JUMP_MM)
    for landed in range(len(level_mm) - 2, 0, -1):
        since, before = level_mm[landed:], level_mm[:landed]
        low, high = float(since.min()), float(since.max())
        allowed_mm = max(JUMP_MM, DEPARTURE_RANGES * (high - low))
        if ((before < low - allowed_mm) | (before > high + allowed_mm)).all():
            return landed
    return 0
