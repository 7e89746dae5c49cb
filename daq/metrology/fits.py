"""Limits and fits: sizes from a nominal size and a tolerance class (ISO 286-1 and -2:2010)."""

from collections.abc import Iterable
from typing import NamedTuple


class Deviation(NamedTuple):
    """Limit deviations of a tolerance class from the nominal size, in um."""

    lower_um: int
    upper_um: int


class NominalRange(NamedTuple):
    """Nominal sizes over `over_mm` up to and including `up_to_mm`."""

    over_mm: float
    up_to_mm: float

    def holds(self, nominal_mm: float) -> bool:
        """Whether a nominal size belongs to the range."""
        return self.over_mm < nominal_mm <= self.up_to_mm


def range_of(nominal_mm: float, ranges: Iterable[NominalRange]) -> NominalRange:
    """The range a nominal size belongs to. Raises ValueError where there is none."""
    for one in ranges:
        if one.holds(nominal_mm):
            return one
    raise ValueError(f"No range of nominal sizes holds {nominal_mm} mm.")


class Clearance(NamedTuple):
    """Least and most clearance in um; negative is interference."""

    least_um: int
    most_um: int


def clearance(hole: Deviation, shaft: Deviation) -> Clearance:
    """The clearance of every hole and shaft within their limits: hole minus shaft."""
    return Clearance(hole.lower_um - shaft.upper_um, hole.upper_um - shaft.lower_um)
