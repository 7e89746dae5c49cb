"""Grains that many readings fall on: the level jumps away, stays there for an instant, jumps back.

A grain under the tip takes some hundredths of a second to pass; at 50 readings a second and more
that is a plateau of several readings, which looks like a part until its two steep ends are seen.
"""

import numpy as np
import numpy.typing as npt
from scipy import ndimage

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# 30 turns a minute move the tip of a 7 mm stem by a grain's width of 0.3 mm in 0.03 s; a slow
# hand takes four times as long (derived; hand speeds are common practice, no source).
GRAIN_S_MAX = 0.12
# An end is steep when it is this many noise standard deviations high, and this many of the steps
# that the trace takes around it: no hand turns a part so suddenly, and back so soon.
EDGE_NOISES = 12.0
EDGE_MOTIONS = 8.0
MOTION_READINGS = 15
# What joins up again, and a plateau's least height, as shares of the jump.
JOINED_SHARE = 0.35
PLATEAU_SHARE = 0.5


def lifted(t_s: Floats, value_mm: Floats, noise_mm: float) -> Bools:
    """Which readings stand on a grain. t_s in s, rising; all of one length."""
    found = np.zeros(len(value_mm), dtype=np.bool_)
    if len(value_mm) < MOTION_READINGS:
        return found
    step_mm = np.diff(value_mm)
    motion_mm = ndimage.median_filter(np.abs(step_mm), MOTION_READINGS, mode="nearest")
    steep = np.abs(step_mm) > EDGE_NOISES * noise_mm + EDGE_MOTIONS * motion_mm
    edges = np.flatnonzero(steep).tolist()
    free_from = 0
    for place, first in enumerate(edges):
        if first < free_from:
            continue
        for last in edges[place + 1 :]:
            if t_s[last] - t_s[first] > GRAIN_S_MAX:
                break
            if _is_grain(value_mm, first, last):
                found[first + 1 : last + 1] = True
                free_from = last + 1
                break
    return found


def _is_grain(value_mm: Floats, first: int, last: int) -> bool:
    """Whether readings first + 1 to last lie on one side of a trace that joins up round them."""
    before, after = value_mm[first], value_mm[last + 1]
    away = value_mm[first + 1 : last + 1] - (before + after) / 2
    if away[0] * away[-1] <= 0:
        return False
    jump = float(np.max(np.abs(away)))
    stays = bool(np.all(np.sign(away) == np.sign(away[0])))
    high = float(np.min(np.abs(away))) > PLATEAU_SHARE * jump
    return stays and high and abs(after - before) < JOINED_SHARE * jump
