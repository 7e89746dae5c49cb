"""Does the order of turning points read the same backwards? Then a hand may have swayed the part.

A part rocked to and fro shows its turning points forwards and then backwards, round and round. An
order that repeats and is not its own mirror image about any of its points can only be made by
going on turning (or by a hand that reverses at the same micrometre again and again).
"""

import numpy as np
import numpy.typing as npt

from daq.capture.turn.period import Period
from daq.capture.turn.points import Points

Floats = npt.NDArray[np.float64]

# Two levels differ for certain when they are this many agreement widths apart.
DIFFER_WIDTHS = 1.7
# So many turning points on either side must mirror before it is called swaying.
MIRRORED_MIN = 3
# A row of highs that agree while the lows do not (or the other way round) is this long.
PINNED_MIN = 3
PINNED_SPREAD_WIDTHS = 4.0


def turn_levels(points: Points, period: Period, width_mm: Floats) -> tuple[Floats, Floats]:
    """Mean level of each turning point of one turn, drift taken off, and its agreement width."""
    inner = np.array(period.inner)
    level = points.level_mm[inner] - period.drift_mm_per_s * points.t_s[inner]
    mean, width = np.empty(period.size), np.empty(period.size)
    for k in range(period.size):
        mine = inner[k :: period.size]
        mean[k] = np.mean(level[k :: period.size])
        width[k] = np.sqrt(np.mean(width_mm[mine] ** 2) / len(mine))
    return mean, width


def is_own_mirror(level_mm: Floats, width_mm: Floats) -> bool:
    """True if a cyclic order of levels equals its mirror image about one of its points."""
    size = len(level_mm)
    for axis in range(size):
        mirrored = (2 * axis - np.arange(size)) % size
        apart = np.abs(level_mm - level_mm[mirrored])
        if np.all(apart <= DIFFER_WIDTHS * np.hypot(width_mm, width_mm[mirrored])):
            return True
    return False


def has_mirrored_passage(points: Points, inner: tuple[int, ...], width_mm: Floats) -> bool:
    """True if the trace somewhere runs through several different turning points and back again."""
    where = np.array(inner, dtype=np.intp)
    level, width = points.level_mm[where], width_mm[where]
    count = len(where)
    for centre in range(MIRRORED_MIN, count - MIRRORED_MIN):
        reach = 0
        while centre - reach - 1 >= 0 and centre + reach + 1 < count:
            left, right = centre - reach - 1, centre + reach + 1
            if abs(level[left] - level[right]) > np.hypot(width[left], width[right]):
                break
            reach += 1
        if reach >= MIRRORED_MIN and _differ(level, width, centre - reach, centre + reach):
            return True
    return False


def _differ(level: Floats, width: Floats, first: int, last: int) -> bool:
    """More than one kind of high and more than one kind of low between first and last.

    A bent part has one high and one low a turn and always mirrors; that says nothing.
    """
    kinds = 0
    for start in (first, first + 1):
        row = slice(start, last + 1, 2)
        kinds += bool(np.ptp(level[row]) > 2.0 * DIFFER_WIDTHS * np.max(width[row]))
    return kinds == 2


def is_pinned(points: Points, width_mm: Floats) -> bool:
    """True if one side of the swings agrees and the other does not: rocked over one high or low."""
    inner = slice(1, len(points) - 1)
    level, width = points.level_mm[inner], width_mm[inner]
    for start in (0, 1):
        same, other = level[start::2], level[1 - start :: 2]
        if len(same) < PINNED_MIN or len(other) < 2:
            continue
        room = 2.0 * float(np.max(width))
        if np.ptp(same) <= room and np.ptp(other) > PINNED_SPREAD_WIDTHS * room:
            return True
    return False
