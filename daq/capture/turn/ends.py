"""The first and the last leg of a trace, which were turned only in part."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from daq.capture.turn.points import Points

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Known:
    """Turning points, how well each level is known (half-width), and the span of the levels; mm."""

    points: Points
    width_mm: Floats
    swing_mm: float


def legs_turned(
    known: Known, keep: tuple[int, ...], size: int, trim: tuple[int, int]
) -> float | None:
    """How much of the first and the last leg was turned, both together 0 to 2.

    keep: the turning points of an order with both ends; trim: see `period.END_TRIMS`. None if an
    end contradicts the repeat: the leg before the first turning point is the one that came again
    `size` later, so the trace cannot have begun beyond its other end; the same for the last.
    """
    first, last = 1 + trim[0], len(keep) - 1 - trim[1]
    turned = 0.0
    for cut, outside, peak, far in (
        (trim[0], keep[:first], keep[first], keep[first + size - 1]),
        (trim[1], keep[last:], keep[last - 1], keep[last - size]),
    ):
        if cut == -1:
            continue
        end = _far_end(known, outside, peak)
        level = known.points.level_mm
        leg = float(level[far] - level[peak])
        share = float(level[end] - level[peak]) / leg if leg else 0.0
        if (share - 1.0) * abs(leg) > known.width_mm[end] + known.width_mm[far]:
            return None
        turned += _turned(share)
    return turned


def _far_end(known: Known, outside: tuple[int, ...], peak: int) -> int:
    """Of the points left out at an end, the one farthest from the first that counts."""
    level = known.points.level_mm
    return max(outside, key=lambda k: abs(float(level[k] - level[peak])))


def _turned(share: float) -> float:
    """Share of the angle of a leg from the share of its height, as on a cosine."""
    return math.acos(1.0 - 2.0 * min(max(share, 0.0), 1.0)) / math.pi
