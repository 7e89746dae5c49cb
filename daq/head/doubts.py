"""What is asked about before a plan is taken: limits that a slip of the pen would explain.

A run-out limit that cannot be one is refused by the step itself; everything here can be kept with
a name in `acknowledged_by`. Printed manuals, proof-read, carry such slips, too: a decimal point, a
minimum for a maximum, a band of 2 µm where the stem alone has 13 (published examples).
"""

from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import NamedTuple

from daq.head.guide_values import plausible_mm
from daq.head.limits import Limit
from daq.head.step import Step

# The narrowest published band of a new clearance is 0.0127 mm (TM 5-6115-400-35); one of 0.002 mm
# is a misprint, because the stem alone has 0.013 mm (TM 10-3930-653-14&P).
BAND_MM_MIN = Decimal("0.010")
_CLEARANCE = "guide.clearance"
# The bounds for a clearance reach down to the least one of a new pair; no most is printed under
# 0.038 mm (TM 5-6115-400-35), and 0.006, an inch figure taken for mm, must not pass as one.
CLEARANCE_MOST_MM_MIN = Decimal("0.020")
_SLIPS = (
    (Decimal(1000), "µm typed as mm"),
    (Decimal("25.4"), "a figure in another unit"),
    (1 / Decimal("25.4"), "inch for mm"),
    (Decimal(10), "a lost decimal point"),
    (Decimal("0.1"), "a lost decimal point"),
    (Decimal(100), "a lost decimal point"),
    (Decimal("0.01"), "a lost decimal point"),
)


class Doubt(NamedTuple):
    """One thing to ask. loc: where it stands in the plan, as pydantic names places."""

    loc: tuple[str | int, ...]
    text: str


def doubts(steps: Iterable[Step]) -> list[Doubt]:
    """Everything to ask about these steps; nobody's acknowledged figures are among it."""
    steps = list(steps)
    found = [
        Doubt(("steps", number, *_parts(key)), f"{step.characteristic}, {key}: {text}")
        for number, step in enumerate(steps)
        for key, limit in step.limits
        if not limit.acknowledged_by
        for text in _of_limit(step, key, limit)
    ]
    places = {step.characteristic: number for number, step in enumerate(steps)}
    by_name = {step.characteristic: step for step in steps}
    for name, key, text in (*_of_sides(by_name), *_of_bands(by_name), *_of_uses(steps)):
        found.append(Doubt(("steps", places[name], key), f"{name}, {key}: {text}"))
    return found


def _parts(key: str) -> tuple[str | int, ...]:
    return tuple(int(part) if part.isdigit() else part for part in key.split("."))


def _of_limit(step: Step, key: str, limit: Limit) -> Iterator[str]:
    name, sort = step.characteristic, step.about.limit
    if sort == "most" and limit.upper is None:
        yield "it is limited at most, and only 'lower' is given; minimum printed for maximum?"
    if sort == "least" and limit.lower is None:
        yield "it is limited at least, and only 'upper' is given; maximum printed for minimum?"
    for end in (limit.lower, limit.upper):
        if end is not None:
            yield from _of_end(name, end)
    if name == "spring.load":
        yield from _of_load(step, key, limit)


def _of_end(name: str, end: Decimal) -> Iterator[str]:
    if name.startswith(_CLEARANCE) and end < 0:
        yield f"a clearance of {end} mm cannot be: it is guide − stem, not stem − guide"
        return
    bounds = plausible_mm(name)
    if bounds is not None and name == f"{_CLEARANCE}_max":
        bounds = (CLEARANCE_MOST_MM_MIN, bounds[1])
    if bounds is None or bounds[0] <= end <= bounds[1]:
        return
    slip = next((text for by, text in _SLIPS if bounds[0] <= end / by <= bounds[1]), "")
    hint = f"; {slip}? If" if slip else "; if"
    yield (
        f"{end} mm is not usual; usual are {bounds[0]} to {bounds[1]} mm{hint} it is right, name "
        "in 'acknowledged_by' who has looked at the page"
    )


def _of_load(step: Step, key: str, limit: Limit) -> Iterator[str]:
    """A load under half of new, or over it: a wear column larger than the load has been printed."""
    parts = _parts(key)
    if parts[0] != "at" or not isinstance(parts[1], int) or limit.lower is None:
        return
    new = step.at[parts[1]].nominal_n
    if new is not None and not new / 2 <= limit.lower <= new:
        yield f"{limit.lower} N is no lower limit for a spring of {new} N new; a digit lost?"


def _of_sides(steps: dict[str, Step]) -> Iterator[tuple[str, str, str]]:
    """Exhaust stems run hotter: no source prints a smaller new clearance for them."""
    for name in (f"{_CLEARANCE}_min", f"{_CLEARANCE}_max"):
        step = steps.get(name)
        if step is None:
            continue
        for before in ("limit_new", "limit"):
            intake = getattr(step, f"{before}_intake")
            exhaust = getattr(step, f"{before}_exhaust")
            if intake is None or exhaust is None or exhaust.acknowledged_by:
                continue
            end = "lower" if name.endswith("min") else "upper"
            small, large = getattr(exhaust, end), getattr(intake, end)
            if small is not None and large is not None and small < large:
                yield (
                    name,
                    f"{before}_exhaust",
                    f"{small} mm for exhaust is less than {large} mm for intake; sides swapped?",
                )


def _of_bands(steps: dict[str, Step]) -> Iterator[tuple[str, str, str]]:
    """A band of new clearances is at least as wide as the tolerances of stem and guide."""
    least, most = steps.get(f"{_CLEARANCE}_min"), steps.get(f"{_CLEARANCE}_max")
    if least is None or most is None:
        return
    for side, position in (("intake", "1I"), ("exhaust", "1E")):
        upper = most.limit_new_at(position)
        lower = least.limit_new_at(position) or least.limit_at(position)
        if upper is None or lower is None or upper.acknowledged_by:
            continue
        if upper.upper is None or lower.lower is None:
            continue
        band = upper.upper - lower.lower
        needed = max(BAND_MM_MIN, _tolerances(steps, position))
        if band < needed:
            key = "limit_new" if most.limit_new is not None else f"limit_new_{side}"
            text = (
                f"a band of {band} mm for new clearances is narrower than the {needed} mm that "
                "the tolerances of stem and guide take alone; a misprint?"
            )
            yield f"{_CLEARANCE}_max", key, text


def _of_uses(steps: Iterable[Step]) -> Iterator[tuple[str, str, str]]:
    """What is good enough for new is good enough for worn: the wear limit is never the tighter."""
    for step in steps:
        for side in ("", "_intake", "_exhaust"):
            wear: Limit | None = getattr(step, f"limit{side}")
            new: Limit | None = getattr(step, f"limit_new{side}")
            if wear is None or new is None or wear.acknowledged_by or new.acknowledged_by:
                continue
            for end, of_wear, of_new, tighter in (
                ("upper", wear.upper, new.upper, -1),
                ("lower", wear.lower, new.lower, 1),
            ):
                if of_wear is not None and of_new is not None and (of_wear - of_new) * tighter > 0:
                    text = f"{end} {of_wear} when worn is tighter than {of_new} for new; swapped?"
                    yield step.characteristic, f"limit{side}", text


def _tolerances(steps: dict[str, Step], position: str) -> Decimal:
    """How far new stems and new guides may differ, as far as the plan says."""
    total = Decimal(0)
    for name in ("valve.stem_diameter", "guide.diameter"):
        step = steps.get(name)
        new = None if step is None else step.limit_new_at(position)
        if new is not None and new.lower is not None and new.upper is not None:
            total += new.upper - new.lower
    return total
