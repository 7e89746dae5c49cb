"""Is this really 3E? A value far from what the plan or its neighbours make likely is asked about.

Racks fall and washers dump baskets; a stem that does not fit its neighbours may be another one.
Wear is small against what tells parts apart, so only sizes are asked about, and only beyond what
wear makes (common practice, no source for the figures; published wear limits of a clearance end
at 0.2 mm). A fault is not asked about: a bent valve is bent, whoever it belongs to.
"""

import statistics

from daq.head.characteristic import characteristic
from daq.head.guide_values import plausible_mm
from daq.head.layout import HEAD, side_of
from daq.head.plan import Step, Target
from daq.head.quantity import rounded
from daq.head.record import Record, target_of

# How far parts of one kind in one head may lie apart, in mm; a load in N, as a share.
_APART_MM = {
    "valve.stem_diameter": 0.25,
    "guide.diameter": 0.25,
    "guide.protrusion": 1.5,
    "valve.length": 1.5,
    "valve.margin": 2.0,
    "valve.recess": 2.0,
    "seat.width": 2.0,
    "spring.free_length": 4.0,
    "spring.fitted_height": 2.5,
}
_APART_SHARE = {"spring.load": 0.4}
NEIGHBOURS_LEAST = 3
# Beyond the bounds of published limits by this factor: less than the 10 of a lost decimal point and
# the 25.4 of a wrong unit, more than any wear (common practice, no source).
_FAR = 3.0
_SHOWN_MM = 0.01


def question(record: Record, target: Target, value: float) -> str:
    """The question to answer before `value` is kept for `target`; "" when there is none.

    value: in the characteristic's canonical unit.
    """
    return (
        off_the_plan(record, target, value)
        or _asked(target, value, _off_the_usual(target.characteristic, value))
        or off_the_neighbours(record, target, value)
    )


def off_the_plan(record: Record, target: Target, value: float) -> str:
    """The question about a value that cannot be one of this part by the plan; "" for none."""
    step = record.plan.step(target.characteristic)
    odd = "" if step is None else _off_the_plan(step, value)
    return _asked(target, value, odd)


def off_the_neighbours(record: Record, target: Target, value: float) -> str:
    """The question about a value that is far from those of the same parts beside it."""
    step = record.plan.step(target.characteristic)
    odd = "" if step is None else _off_the_neighbours(record, step, target, value)
    return _asked(target, value, odd)


def _asked(target: Target, value: float, odd: str) -> str:
    if not odd:
        return ""
    unit = characteristic(target.characteristic).unit
    whose = "the head" if target.position == HEAD else target.position
    return f"{_shown(value)} {unit} {odd}: is this really {whose}, and in {unit}?"


def _shown(value: float) -> str:
    return f"{rounded(value, _SHOWN_MM).normalize():f}"


def _off_the_plan(step: Step, value: float) -> str:
    if step.nominal_mm is None or step.window_mm is None or step.about.unit != "mm":
        return ""
    if abs(value - float(step.nominal_mm)) <= float(step.window_mm):
        return ""
    return f"lies outside {step.nominal_mm} ± {step.window_mm} mm, where the plan expects it"


def _off_the_usual(name: str, value: float) -> str:
    """A value so far from any published limit that a unit or a decimal point explains it better
    than wear: 1.3 for a margin in inches, 0.05 for one in millimetres."""
    bounds = plausible_mm(name)
    if bounds is None:
        return ""
    low, high = (float(each) for each in bounds)
    least = 0.0 if characteristic(name).limit == "most" else low
    if value <= high * _FAR and value >= (least * _FAR if least < 0 else least / _FAR):
        return ""
    return f"lies far from {bounds[0]} to {bounds[1]} mm, where all published limits for it lie"


def _off_the_neighbours(record: Record, step: Step, target: Target, value: float) -> str:
    name = target.characteristic
    if name not in _APART_MM and name not in _APART_SHARE:
        return ""
    found: dict[str, list[float]] = {}
    for entry in record.standing:
        other, body = target_of(entry.body), entry.body
        if not _is_neighbour(target, other) or not body["complete"] or body["value"] is None:
            continue
        if not _off_the_plan(step, float(body["value"])):
            found.setdefault(other.position, []).append(float(body["value"]))
    if len(found) < NEIGHBOURS_LEAST:
        return ""
    usual = statistics.median(statistics.median(values) for values in found.values())
    apart = _APART_MM.get(name) or _APART_SHARE[name] * abs(usual)
    if abs(value - usual) <= apart:
        return ""
    return (
        f"lies far from the {_shown(usual)} {characteristic(name).unit} of its {len(found)} "
        "neighbours"
    )


def _is_neighbour(target: Target, other: Target) -> bool:
    if other.characteristic != target.characteristic or HEAD in (target.position, other.position):
        return False
    if other.position == target.position or side_of(other.position) != side_of(target.position):
        return False
    length = None if target.place is None else target.place.length_mm
    return length == (None if other.place is None else other.place.length_mm)
