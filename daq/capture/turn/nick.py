"""A nick that was taken for lint: what was rejected comes again at the same place of the part.

Where a nick falls on a reading or two a turn it looks like a grain. A grain comes once; a nick
comes every turn. Which of the two it was is not decided here: the turn is not complete.
"""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from daq.capture.turn.period import Period
from daq.capture.turn.points import Points

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

# Readings this close together are one event.
EVENT_READINGS = 3
# The place on the part is the leg it lies on and how high the trace stands there: no time, which
# is no angle. Known to this share of the leg; the height of the event itself to this factor.
LEVEL_SHARE = 0.12
HEIGHT_FACTOR = 2.5
TIMES_MIN = 2
REASON = (
    "What was left out as lint came again at the same place on every turn, so it may be a nick. "
    "Look at the part there and wipe it; turn slower to measure it."
)


class _Event(NamedTuple):
    """leg: number in the order of the turns; level_mm: of the trace beneath; height_mm: above."""

    leg: int
    level_mm: float
    height_mm: float


def comes_again(
    t_s: Floats, value_mm: Floats, rejected: Ints, points: Points, repeat: Period | None
) -> bool:
    """Something rejected was there turn after turn, at one place of the part and on one side.

    t_s and value_mm: all readings, the rejected among them; points and repeat: of the rest.
    """
    if repeat is None or len(rejected) < TIMES_MIN:
        return False
    inner = np.array(repeat.inner)
    events = _events(t_s, value_mm, rejected, points.t_s[inner])
    needed = max(TIMES_MIN, (len(inner) - 1) // repeat.size - 1)
    level_mm = points.level_mm[inner]
    return any(
        1 + len({other.leg for other in events if _alike(one, other, level_mm, repeat.size)})
        >= needed
        for one in events
    )


def _events(t_s: Floats, value_mm: Floats, rejected: Ints, turning_s: Floats) -> list[_Event]:
    """What was rejected between the first and the last turning point, a grain or nick each."""
    kept = np.setdiff1d(np.arange(len(t_s)), rejected, assume_unique=True)
    beneath_mm = np.interp(t_s[rejected], t_s[kept], value_mm[kept])
    height_mm = value_mm[rejected] - beneath_mm
    leg = np.searchsorted(turning_s, t_s[rejected]) - 1
    number = np.cumsum(np.diff(rejected, prepend=rejected[0]) > EVENT_READINGS)
    found = []
    for each in range(int(number[-1]) + 1):
        mine = np.flatnonzero(number == each)
        worst = int(mine[np.argmax(np.abs(height_mm[mine]))])
        if 0 <= leg[worst] < len(turning_s) - 1:
            found.append(_Event(int(leg[worst]), float(beneath_mm[worst]), float(height_mm[worst])))
    return found


def _alike(one: _Event, other: _Event, level_mm: Floats, size: int) -> bool:
    """The other lies at the same place of the part on another turn, and looks the same."""
    if other.leg == one.leg or (other.leg - one.leg) % size:
        return False
    leg_mm = abs(float(level_mm[one.leg + 1] - level_mm[one.leg]))
    near = abs(other.level_mm - one.level_mm) <= LEVEL_SHARE * leg_mm
    return near and 1.0 / HEIGHT_FACTOR < other.height_mm / one.height_mm < HEIGHT_FACTOR
