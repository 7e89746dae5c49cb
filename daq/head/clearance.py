"""Stem-to-guide clearance from the bores of a guide and the stem diameters of its valve.

clearance = guide − stem, never the other way round. The most: largest bore − smallest stem of
the same pair; the least: smallest bore − largest stem (engine makers' manuals; TM 5-2420-222-34
table 3-2 works bands the same way).
"""

import hashlib
import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from daq.head.characteristic import characteristic
from daq.head.measurement import (
    Came,
    Measurement,
    limits_shown,
    shown,
    status_of,
)
from daq.head.plan import Plan, Step, Target
from daq.head.pooling import Pooled, pooled
from daq.head.ruling import Ruling, ruling
from daq.metrology.measured import COVERAGE_K, Contribution, Evaluation, Measured

CLEARANCES = ("guide.clearance_max", "guide.clearance_min", "guide.clearance_mean")
_STEP_MM = 0.001  # written to a tenth of a micrometre, as the diameters themselves are


@dataclass(frozen=True, slots=True)
class _Pair:
    """The usable places of one guide and its valve, and whether any the plan asks for lacks."""

    position: str
    bores: list[Pooled]
    stems: list[Pooled]
    whole: bool

    @property
    def agree(self) -> bool:
        return all(place.agree for place in (*self.bores, *self.stems))


def clearances(
    plan: Plan, position: str, standing: Sequence[Measurement], *, made_new: str = ""
) -> list[Measurement]:
    """The clearances the plan asks for at `position`, from the measurements that stand there.

    made_new: what put guide or valve back to new since they were found; "" as found.

    None are given before at least one bore and one stem diameter were measured. With a place
    missing, the most seen is a lower bound of the most, and the least seen an upper bound of the
    least: such a value may FAIL but never PASS.
    """
    pair = _pair(plan, position, standing)
    if not pair.bores or not pair.stems:
        return []
    wanted = [plan.step(name) for name in CLEARANCES]
    return [
        _clearance(step, pair, standing, ruling(plan, _target(step, position), made_new=made_new))
        for step in wanted
        if step is not None
    ]


def _target(step: Step, position: str) -> Target:
    return Target(step.characteristic, position, None)


def _pair(plan: Plan, position: str, standing: Sequence[Measurement]) -> _Pair:
    sides = []
    whole = True
    for name in ("guide.diameter", "valve.stem_diameter"):
        takes = [m for m in standing if m.position == position and m.characteristic == name]
        places = [p for p in pooled(t for t in takes if is_on_part(plan, t)) if p.complete]
        step = plan.step(name)
        asked = set(step.places) if step is not None else set()
        whole = whole and asked <= {place.place for place in places} and bool(asked)
        sides.append(places)
    return _Pair(position, sides[0], sides[1], whole)


def is_on_part(plan: Plan, take: Measurement) -> bool:
    """Whether a value can be of this part at all.

    What lies outside the plan's window round the nominal is of another part, or no size at all,
    whoever kept it: nothing is worked out of it. Where a plan has no window, a bore gauge whose
    setting ring was never read is not believed.
    """
    step = plan.step(take.characteristic)
    if step is None or step.nominal_mm is None or step.window_mm is None or take.value is None:
        return take.came is not Came.CAPTURED or take.reference is not None or not _compares(take)
    return abs(take.value - step.nominal_mm) <= step.window_mm


def _compares(take: Measurement) -> bool:
    return characteristic(take.characteristic).capture == "rock"


def _clearance(
    step: Step, pair: _Pair, standing: Sequence[Measurement], held: Ruling | None
) -> Measurement:
    bores, stems = pair.bores, pair.stems
    match step.characteristic:
        case "guide.clearance_max":
            bore, stem = max(bores, key=_size), min(stems, key=_size)
            measured = _difference(bore.value, bore.u, stem.value, stem.u)
            ids = (*bore.ids, *stem.ids)
        case "guide.clearance_min":
            bore, stem = min(bores, key=_size), max(stems, key=_size)
            measured = _difference(bore.value, bore.u, stem.value, stem.u)
            ids = (*bore.ids, *stem.ids)
        case _:
            measured = _difference(*_mean(bores), *_mean(stems))
            ids = tuple(each for place in (*bores, *stems) for each in place.ids)
    limit = None if held is None else held.limit
    complete = pair.whole and pair.agree
    value, uncertainty = shown(measured, _STEP_MM)
    return Measurement(
        id=_derived_id(step.characteristic, ids),
        position=pair.position,
        characteristic=step.characteristic,
        value=value,
        unit=characteristic(step.characteristic).unit,
        uncertainty=uncertainty,
        k=Decimal(str(COVERAGE_K)),
        status=status_of(
            measured.value,
            measured.u,
            limit,
            complete=complete,
            lower_bound=step.characteristic == "guide.clearance_max",
            upper_bound=step.characteristic == "guide.clearance_min",
        ),
        complete=complete,
        came=Came.DERIVED,
        measured_at=max(m.measured_at for m in standing if m.id in ids),
        limits=limits_shown(limit),
        limit_source=None if held is None else held.said_by,
        reason=_why_incomplete(pair),
        detail={"budget": budget_shown(measured)},
        inputs=tuple(ids),
    )


def _size(place: Pooled) -> float:
    return place.value


def _mean(places: list[Pooled]) -> tuple[float, float]:
    """Mean diameter; one gauge's error is common to all places, so u does not shrink."""
    return (
        math.fsum(place.value for place in places) / len(places),
        max(place.u for place in places),
    )


def _difference(bore_mm: float, bore_u: float, stem_mm: float, stem_u: float) -> Measured:
    return Measured(
        bore_mm - stem_mm,
        "mm",
        (
            Contribution("bore", bore_u, Evaluation.TYPE_B, "the guide's own measurement"),
            Contribution("stem", stem_u, Evaluation.TYPE_B, "the valve's own measurement"),
        ),
    )


def budget_shown(measured: Measured) -> list[dict[str, str]]:
    """The budget as it stands in a record: one line a contribution, standard uncertainties."""
    return [
        {
            "name": line.name,
            "u": format(Decimal(f"{line.u:.3g}"), "f"),
            "evaluation": line.evaluation.value,
            "note": line.note,
        }
        for line in measured.budget
    ]


def _why_incomplete(pair: _Pair) -> str:
    if not pair.whole:
        return "not every place of guide and stem that the plan asks for is measured"
    if not pair.agree:
        return "takes of one place contradict each other; measure it again"
    return ""


def _derived_id(name: str, inputs: Sequence[str]) -> str:
    """An id that is the same whenever the same measurements go in (a version 8 UUID)."""
    digest = hashlib.sha256("\n".join((name, *inputs)).encode()).hexdigest()
    variant = "89ab"[int(digest[16], 16) % 4]
    return f"{digest[:8]}-{digest[8:12]}-8{digest[13:16]}-{variant}{digest[17:20]}-{digest[20:32]}"
