"""An invented head: what its parts really are, which nobody but the pretend physics knows.

Four cylinders, eight valves with 7 mm stems; one valve is bent, one guide worn, one valve too
deep. Everything here is made up for the demonstration.
"""

from dataclasses import dataclass

import numpy as np

from daq.head.plan import Place, Plan, Step
from drivers.pretend.valve import Section, Shape, invented_section

BENT, WORN, DEEP = "3E", "2E", "4I"
STEM_MM = {"I": 6.972, "E": 6.958}
BORE_MM = {"I": 7.008, "E": 7.016}


@dataclass(frozen=True)
class Part:
    """One valve with its guide and seat, at 20 degrees. recess_mm: positive is deep."""

    section: Section
    stem_mm: dict[Place, float]
    bore_mm: dict[Place, float]
    recess_mm: float


def invented_parts(plan: Plan, rng: np.random.Generator) -> dict[str, Part]:
    """A part for every position of the plan's head."""
    return {position: _part(plan, position, rng) for position in plan.head.positions}


def _part(plan: Plan, position: str, rng: np.random.Generator) -> Part:
    shape = Shape.BENT if position == BENT else rng.choice([*Shape][:1] * 3 + [*Shape][2:])
    runout_mm = 0.085 if position == BENT else float(rng.uniform(0.006, 0.019))
    side = position[1]
    stem = STEM_MM[side] + rng.normal(0, 0.0012)
    bore = BORE_MM[side] + rng.normal(0, 0.0015) + (0.095 if position == WORN else 0.0)
    recess = 1.9 if position == DEEP else float(rng.uniform(0.75, 1.25))
    return Part(
        section=invented_section(Shape(shape), runout_mm, rng),
        stem_mm=_worn(plan.step("valve.stem_diameter"), stem, -0.0015, rng),
        bore_mm=_worn(plan.step("guide.diameter"), bore, 0.0025, rng),
        recess_mm=recess,
    )


def _worn(
    step: Step | None, size_mm: float, wear_mm: float, rng: np.random.Generator
) -> dict[Place, float]:
    """Each place its own size: wear grows towards the ends, more one way than the other."""
    places = [] if step is None else [place for place in step.places if place is not None]
    return {place: size_mm + wear_mm * float(rng.uniform(0, 1)) for place in places}
