"""What the readings of one part say together: wear, taper, ovality, bell mouth; rate and lean.

Nothing here is judged but the wear of a stem, by a guide value; the clearance of the pair decides.
Taper is the difference of the ends, ovality the largest difference of two directions at one depth,
bell mouth an end less the middle, negative where the middle is wider (makers' manuals; NIMI). A
two-point gauge does not see three-lobed wear.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from pydantic import BaseModel, ConfigDict

from daq.head.catalogue.about import Part
from daq.head.clearance import is_on_part
from daq.head.guide_values import stem_wear_most_mm
from daq.head.measurement import Measurement
from daq.head.plan import Plan
from daq.head.pooling import Pooled, pooled
from daq.head.quantity import rounded
from daq.metrology.measured import COVERAGE_K
from daq.metrology.spring import lean_deg, rate_of_loads_n_per_mm

_STEP_MM, _STEP_DEG, _STEP_N_PER_MM = 0.001, 0.1, 0.1
_ROUND: tuple[tuple[str, Part], ...] = (
    ("valve.stem_diameter", "valve"),
    ("guide.diameter", "guide"),
)


class Figure(BaseModel):
    """One figure of a part. uncertainty: expanded, k = 2; None where it follows from a table."""

    model_config = ConfigDict(frozen=True)

    name: str
    value: Decimal
    unit: str
    uncertainty: Decimal | None


class PartShape(BaseModel):
    """The figures of one part. whole: everything the plan asks of it was measured. note: what is
    worth a second look; "" for nothing. inputs: the measurements that went in."""

    model_config = ConfigDict(frozen=True)

    position: str
    part: Part
    figures: tuple[Figure, ...]
    whole: bool
    note: str
    inputs: tuple[str, ...]


def shapes(plan: Plan, standing: Sequence[Measurement]) -> Iterator[PartShape]:
    """The shape of every stem, guide and spring of which enough was measured."""
    for position in plan.head.positions:
        here = [m for m in standing if m.position == position and is_on_part(plan, m)]
        for name, part in _ROUND:
            found = [p for p in pooled(m for m in here if m.characteristic == name) if p.complete]
            if len(found) > 1:
                yield _of_diameters(plan, position, name, part, found)
        spring = _of_spring(plan, position, here)
        if spring is not None:
            yield spring


def _of_diameters(
    plan: Plan, position: str, name: str, part: Part, found: list[Pooled]
) -> PartShape:
    step = plan.step(name)
    asked = set() if step is None else set(step.places)
    values = [each.value for each in found]
    between = COVERAGE_K * math.sqrt(2) * max(each.u for each in found)
    rings = _rings(found)
    means = [math.fsum(ring) / len(ring) for ring in rings]
    wear_mm = max(values) - min(values)
    oval = [max(ring) - min(ring) for ring in rings if len(ring) > 1]
    single = COVERAGE_K * max(each.u for each in found)
    figures = [
        _figure("largest", max(values), single),
        _figure("smallest", min(values), single),
        _figure("wear", wear_mm, between),
    ]
    if len(means) > 1:
        figures.append(_figure("taper", abs(means[-1] - means[0]), between))
    if oval:
        figures.append(_figure("ovality", max(oval), between))
    if part == "guide" and len(means) > 2:
        middle = math.fsum(means[1:-1]) / len(means[1:-1])
        figures.append(_figure("bell mouth", max(means[0], means[-1]) - middle, between))
    return PartShape(
        position=position,
        part=part,
        figures=tuple(figures),
        whole=asked <= {each.place for each in found},
        note=_stem_note(means, wear_mm - between) if part == "valve" else "",
        inputs=tuple(each for place in found for each in place.ids),
    )


def _rings(found: Iterable[Pooled]) -> list[list[float]]:
    """The diameters by depth, from one end to the other."""
    by_depth: dict[Decimal, list[float]] = {}
    for each in found:
        if each.place is not None and each.place.depth_mm is not None:
            by_depth.setdefault(each.place.depth_mm, []).append(each.value)
    return [by_depth[depth] for depth in sorted(by_depth)]


def _stem_note(means: list[float], worn_surely_mm: float) -> str:
    notes = []
    most = stem_wear_most_mm()
    if worn_surely_mm > float(most):
        notes.append(f"worn unevenly by more than {most} mm (guide value, not the maker's)")
    if len(means) > 2 and max(means[1:-1]) < min(means[0], means[-1]) - _STEP_MM:
        notes.append("thinner at mid length than at both ends: stretched? (aircraft practice)")
    return "; ".join(notes)


def _of_spring(plan: Plan, position: str, here: Sequence[Measurement]) -> PartShape | None:
    loads = [p for p in pooled(m for m in here if m.characteristic == "spring.load") if p.complete]
    length = _only(here, "spring.free_length")
    gap = _only(here, "spring.squareness")
    figures, inputs = [], [each for load in loads for each in load.ids]
    at = [float(p.place.length_mm) for p in loads if p.place and p.place.length_mm is not None]
    if len(set(at)) > 1 and len(at) == len(loads):
        rate = rate_of_loads_n_per_mm(at, [load.value for load in loads])
        figures.append(_figure("rate", rate, None, "N/mm", _STEP_N_PER_MM))
    if length is not None and gap is not None:
        lean = lean_deg(gap.value, length.value)
        figures.append(_figure("lean", lean, None, "deg", _STEP_DEG))
        inputs += [*length.ids, *gap.ids]
    if not figures:
        return None
    step = plan.step("spring.load")
    whole = step is not None and len(loads) == len(step.places) and len(figures) > 1
    return PartShape(
        position=position,
        part="spring",
        figures=tuple(figures),
        whole=whole,
        note="",
        inputs=tuple(inputs),
    )


def _only(here: Sequence[Measurement], name: str) -> Pooled | None:
    found = [p for p in pooled(m for m in here if m.characteristic == name) if p.complete]
    return found[0] if found else None


def _figure(
    name: str, value: float, uncertainty: float | None, unit: str = "mm", step: float = _STEP_MM
) -> Figure:
    return Figure(
        name=name,
        value=rounded(value, step),
        unit=unit,
        uncertainty=None if uncertainty is None else rounded(uncertainty, step),
    )
