"""Helical compression springs: rate from the wire, rate from loads, lean from the gap.

Sources: EN 13906-1 (rate R = G d^4 / (8 D^3 n), from memory, checked against a textbook example);
lean: plane geometry of a spring that stands against a square.
"""

import math
from collections.abc import Sequence


def rate_n_per_mm(wire_mm: float, coil_mm: float, active_coils: float, shear_n_mm2: float) -> float:
    """R = G d^4 / (8 D^3 n): d of the wire, D the mean diameter of the coils, n that deflect."""
    return shear_n_mm2 * wire_mm**4 / (8 * coil_mm**3 * active_coils)


def rate_of_loads_n_per_mm(lengths_mm: Sequence[float], loads_n: Sequence[float]) -> float:
    """The slope of load against deflection through measured points, by least squares.

    Raises ValueError for fewer than two different lengths.
    """
    if len(set(lengths_mm)) < 2:
        raise ValueError("A rate needs loads at two different lengths.")
    middle_mm = math.fsum(lengths_mm) / len(lengths_mm)
    middle_n = math.fsum(loads_n) / len(loads_n)
    pairs = list(zip(lengths_mm, loads_n, strict=True))
    shared = math.fsum((length - middle_mm) * (load - middle_n) for length, load in pairs)
    return -shared / math.fsum((length - middle_mm) ** 2 for length in lengths_mm)


def lean_deg(gap_mm: float, free_length_mm: float) -> float:
    """The angle of a spring whose top coil stands `gap_mm` off a square."""
    return math.degrees(math.atan(gap_mm / free_length_mm))


def gap_mm(lean: float, free_length_mm: float) -> float:
    """The gap at the top coil of a spring that leans by so many degrees."""
    return free_length_mm * math.tan(math.radians(lean))
