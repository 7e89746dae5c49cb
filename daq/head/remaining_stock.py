"""How much may still be ground off seat, face or tip before a height leaves its limits.

Recess, margin, fitted height and tip all move together; what is left before each limit is the
question at the machine. All amounts are along the valve's axis, as a depth gauge sees them (the
stock taken is the depth after less the depth before: TM 10-3930-664-24). The formulas are derived
here from the geometry of two cones that touch:

- seat cut by s: the valve sinks by s. Recess + s, fitted height + s.
- face ground by f: the cone moves towards the top of the head. Recess + f, fitted height + f,
  margin − f.
- tip ground by t: length − t; nothing else that is measured here changes.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from daq.metrology.conformity import PROBABILITY, guard_band

Cut = Literal["seat", "face", "tip"]
CUTS: tuple[Cut, ...] = ("seat", "face", "tip")

# By how much a value changes for each millimetre (along the axis) of a cut.
CHANGES: dict[Cut, dict[str, int]] = {
    "seat": {"valve.recess": 1, "spring.fitted_height": 1},
    "face": {"valve.recess": 1, "spring.fitted_height": 1, "valve.margin": -1},
    "tip": {"valve.length": -1},
}
ANGLE_DEG_MOST = 75.0


def along_axis_mm(stock_mm: float, angle_deg: float) -> float:
    """How far a valve sinks when `stock_mm` is ground off a cone, measured square to the cone.

    angle_deg: between the cone and the head face, 45 or 30 for most seats. Derived: the normal of
    such a cone makes the same angle with the axis, so the cone has moved stock / cos(angle) along
    it. Raises ValueError for an angle that is none of a seat.
    """
    if not 0.0 < angle_deg <= ANGLE_DEG_MOST:
        raise ValueError(f"a seat angle lies between 0° and {ANGLE_DEG_MOST:g}°, not {angle_deg}°")
    return stock_mm / math.cos(math.radians(angle_deg))


@dataclass(frozen=True, slots=True)
class Height:
    """A measured height in mm with standard uncertainty, and the zone it has to stay in.

    shim_mm: how much of it washers may make good (a fitted height); 0 for all others.
    """

    value_mm: float
    u_mm: float
    lower_mm: float | None
    upper_mm: float | None
    shim_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Bound:
    """What one height allows of a cut: room_mm along the axis, None where it cannot be said."""

    characteristic: str
    room_mm: float | None
    text: str


@dataclass(frozen=True, slots=True)
class Left:
    """What is left of one cut. room_mm: None while any height it moves is not known.

    stopped_by: the height that ends it first.
    """

    cut: Cut
    room_mm: float | None
    stopped_by: str
    bounds: tuple[Bound, ...]


def left(cut: Cut, heights: Mapping[str, Height]) -> Left:
    """What may still be taken by `cut`, with the uncertainty kept clear of every limit.

    heights: by characteristic; one that is missing was not measured.
    """
    bounds = tuple(_bound(name, sign, heights.get(name)) for name, sign in CHANGES[cut].items())
    rooms = {bound.characteristic: bound.room_mm for bound in bounds}
    known = {name: room for name, room in rooms.items() if room is not None}
    first = min(known, key=lambda name: known[name], default="")
    exhausted = bool(first) and known[first] <= 0
    if len(known) < len(rooms) and not exhausted:
        unknown = next(bound for bound in bounds if bound.room_mm is None)
        return Left(cut, None, unknown.characteristic, bounds)
    return Left(cut, known[first], first, bounds)


def after(heights: Mapping[str, Height], cuts: Mapping[Cut, float]) -> dict[str, float]:
    """The heights in mm after `cuts`, amounts in mm along the axis."""
    return {
        name: height.value_mm
        + math.fsum(CHANGES[cut].get(name, 0) * amount for cut, amount in cuts.items())
        for name, height in heights.items()
    }


def _bound(name: str, sign: int, height: Height | None) -> Bound:
    if height is None:
        return Bound(name, None, f"{name} is not measured")
    limit = height.upper_mm if sign > 0 else height.lower_mm
    if limit is None:
        return Bound(name, None, f"{name} has no limit on this side")
    guard = guard_band(PROBABILITY) * height.u_mm
    room = sign * (limit - height.value_mm) + height.shim_mm - guard
    end = "most" if sign > 0 else "least"
    shim = f" and {height.shim_mm:g} mm of shim" if height.shim_mm else ""
    text = f"{name} is {height.value_mm:.3f} mm, at {end} {limit:g} mm{shim}"
    return Bound(name, max(room, 0.0), text)
