"""An invented head: what its parts really are, which nobody but the pretend physics knows.

Four cylinders, eight valves with 7 mm stems. One valve is bent, one guide worn, one valve too
deep, one spring leans, one seat leaks; everything else is in order. All of it is made up for the
demonstration.
"""

from dataclasses import dataclass

import numpy as np

from api.demo.read_by_eye import Sizes, invented_head, invented_sizes
from daq.head.plan import Place, Plan, Step
from drivers.pretend.valve import Section, Shape, invented_section

BENT, WORN, DEEP, LEANING, LEAKING = "3E", "2E", "4I", "1E", "2I"
STEM_MM = {"I": 6.972, "E": 6.958}
BORE_MM = {"I": 7.008, "E": 7.016}
LEAN_MM = 2.4  # about three degrees


@dataclass(frozen=True)
class Part:
    """One valve with its guide, seat and spring, at 20 degrees. recess_mm: positive is deep.

    stem, face, seat: what an indicator sees of them over a turn. by_eye: what is read off tools
    without a wire. leak_mbar_l_s: from 400 mbar below ambient.
    """

    stem: Section
    face: Section
    seat: Section
    stem_mm: dict[Place, float]
    bore_mm: dict[Place, float]
    recess_mm: float
    leak_mbar_l_s: float
    by_eye: Sizes


def invented_parts(plan: Plan, rng: np.random.Generator) -> dict[str, Part]:
    """A part for every position of the plan's head."""
    return {position: _part(plan, position, rng) for position in plan.head.positions}


def invented_face(plan: Plan, rng: np.random.Generator) -> Sizes:
    """What is read off the head itself."""
    return invented_head(plan, rng)


def _part(plan: Plan, position: str, rng: np.random.Generator) -> Part:
    bent = position == BENT
    side = position[1]
    stem = STEM_MM[side] + rng.normal(0, 0.0012)
    bore = BORE_MM[side] + rng.normal(0, 0.0015) + (0.095 if position == WORN else 0.0)
    recess = 1.9 if position == DEEP else float(rng.uniform(0.75, 1.25))
    return Part(
        stem=_section(Shape.BENT if bent else None, 0.085 if bent else _runout(rng), rng),
        face=_section(Shape.BENT, 0.11 if bent else _runout(rng), rng),
        seat=_section(None, float(rng.uniform(0.012, 0.028)), rng),
        stem_mm=_worn(plan.step("valve.stem_diameter"), stem, -0.0015, rng),
        bore_mm=_worn(plan.step("guide.diameter"), bore, 0.0025, rng),
        recess_mm=recess,
        leak_mbar_l_s=0.9 if position == LEAKING else float(rng.uniform(0.01, 0.05)),
        by_eye=invented_sizes(plan, side, rng, lean_mm=LEAN_MM if position == LEANING else None),
    )


def _runout(rng: np.random.Generator) -> float:
    return float(rng.uniform(0.009, 0.019))


def _section(shape: Shape | None, runout_mm: float, rng: np.random.Generator) -> Section:
    """Of that shape, or, where nothing is wrong, of any that is no bend."""
    found = shape or Shape(rng.choice([*Shape][:1] * 3 + [*Shape][2:]))
    return invented_section(found, runout_mm, rng)


def _worn(
    step: Step | None, size_mm: float, wear_mm: float, rng: np.random.Generator
) -> dict[Place, float]:
    """Each place its own size: wear grows towards the ends, more one way than the other."""
    places = [] if step is None else [place for place in step.places if place is not None]
    return {place: size_mm + wear_mm * float(rng.uniform(0, 1)) for place in places}
