"""What the pretend person reads off tools without a wire, and how well. Invented.

Every size is the true one; what is keyed in is that, as far off as the tool may be, rounded to its
division.
"""

from decimal import Decimal

import numpy as np

from daq.head.characteristic import CATALOGUE
from daq.head.place import Place
from daq.head.plan import Plan, Target
from daq.head.tools import usual_tool

Sizes = dict[tuple[str, Place | None], float]

# Middle and half-width of what a part in order has, in the characteristic's unit.
_USUAL: dict[str, tuple[float, float]] = {
    "head.flatness": (0.02, 0.01),
    "head.height": (119.85, 0.01),
    "guide.protrusion": (12.02, 0.05),
    "valve.margin": (1.25, 0.1),
    "valve.length": (104.45, 0.02),
    "spring.free_length": (46.7, 0.15),
    "spring.squareness": (0.6, 0.3),
    "spring.bow": (0.4, 0.2),
    "spring.fitted_height": (38.05, 0.1),
    "spring.coil_gap": (1.6, 0.2),
}
_SEAT_WIDTH = {"I": (1.5, 0.1), "E": (1.8, 0.15)}
_LOAD_SHARE = (0.985, 0.01)  # of what the spring had when it was new


def invented_sizes(
    plan: Plan, side: str, rng: np.random.Generator, *, lean_mm: float | None
) -> Sizes:
    """What one valve, its guide, seat and spring measure. lean_mm: the gap of a leaning spring."""
    found: Sizes = {}
    for step in plan.steps:
        name = step.characteristic
        for place in step.places:
            if name == "seat.width":
                found[name, place] = _around(_SEAT_WIDTH[side], rng)
            elif name == "spring.load":
                here = step.at_place(place)
                new_n = float(here.nominal_n) if here is not None and here.nominal_n else 0.0
                found[name, place] = new_n * _around(_LOAD_SHARE, rng)
            elif name in _USUAL and step.about.part != "head":
                found[name, place] = _around(_USUAL[name], rng)
    if lean_mm is not None:
        found["spring.squareness", None] = lean_mm
    return found


def invented_head(plan: Plan, rng: np.random.Generator) -> Sizes:
    """What is read off the head itself."""
    return {
        (step.characteristic, place): _around(_USUAL[step.characteristic], rng)
        for step in plan.steps
        if step.about.part == "head" and step.characteristic in _USUAL
        for place in step.places
    }


def is_read(characteristic: str) -> bool:
    """Whether the pretend person reads it off a tool without a wire."""
    return characteristic in _USUAL or characteristic in {"seat.width", "spring.load"}


def read_off(target: Target, true: float, rng: np.random.Generator) -> tuple[Decimal, str, str]:
    """What is keyed in for a true size: the number, its unit, and the kind of tool."""
    tool = usual_tool(target.characteristic)
    if tool is None:
        raise ValueError(f"no tool is usual for {target.characteristic}")
    off = float(rng.normal(0, (tool.error_limit_of(true) or 0.0) / 3**0.5))
    step = float(tool.step)
    number = Decimal(round((true + off) / step)) * tool.step
    return max(number, Decimal(0)), CATALOGUE[target.characteristic].unit, tool.kind


def _around(middle_and_half: tuple[float, float], rng: np.random.Generator) -> float:
    middle, half = middle_and_half
    return middle + float(rng.uniform(-half, half))
