"""Sizes brought to 20 °C with what was noted of temperatures, and a warm head flagged.

A head washed at 88 °C and measured at 40 °C: 100 mm of aluminium stand 46 µm too long, an 8 mm
iron guide 1.8 µm, the cold stem not at all (derived; coefficients in `metrology.temperature`). So
head and gauges stand together first; more than 3 K apart is flagged (common practice, no source).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from daq.head.characteristic import Part, characteristic
from daq.head.plan import Plan, Target
from daq.head.record import Entry, EntryKind, Record
from daq.metrology.measured import Measured
from daq.metrology.temperature import EXPANSIONS, Warmth, at_20

APART_K_MOST = 3.0
# A contact thermometer on a part that has settled (common practice, no source).
TEMPERATURE_U_K = 0.5
ALUMINIUM = "aluminium head"
# Whose temperature a part has: guides and seats sit in the head.
_BODY: dict[Part, str] = {"head": "head", "guide": "head", "seat": "head", "valve": "valve"}
# Whole lengths grow with temperature; a runout, a recess or a gap is a difference of near places.
_SIZES = frozenset(
    {
        *("valve.stem_diameter", "valve.length", "guide.diameter", "guide.protrusion"),
        *("head.height", "spring.free_length", "spring.fitted_height"),
    }
)
# For these a few micrometres decide, so without a correction they are not believed.
_FINE = frozenset({"valve.stem_diameter", "guide.diameter"})


@dataclass(frozen=True, slots=True)
class AtReference:
    """A size as it is at 20 °C. warnings: what to show beside it. unbelieved: why it is not
    complete: the parts are too far apart, and nothing says what this one is made of."""

    measured: Measured
    warnings: tuple[str, ...] = ()
    unbelieved: str = ""


def at_reference(record: Record, target: Target, measured: Measured) -> AtReference:
    """`measured` at 20 °C, for a size of a part whose temperature was noted; else as it was."""
    noted = noted_for(record, target)
    if noted is None or target.characteristic not in _SIZES or measured.unit != "mm":
        return AtReference(measured)
    step = record.plan.step(target.characteristic)
    part_c, gauge_c = float(noted.body["part_c"]), float(noted.body["gauge_c"])
    said = apart(record.plan, noted.body)
    warnings = (said,) if said else ()
    if step is None or step.material is None:
        unbelieved = said if target.characteristic in _FINE else ""
        return AtReference(measured, warnings, unbelieved)
    # What has not settled is somewhere between its own temperature and that of the gauge.
    unsettled_k = abs(part_c - gauge_c) / 12**0.5 if said else 0.0
    part = Warmth(part_c, max(TEMPERATURE_U_K, unsettled_k), EXPANSIONS[step.material])
    reference_c = float(noted.body.get("ring_c") or gauge_c)
    gauge = Warmth(reference_c, TEMPERATURE_U_K, EXPANSIONS["gauge steel"])
    return AtReference(at_20(measured, part, gauge), warnings)


def noted_for(record: Record, target: Target) -> Entry | None:
    """The last temperature that was noted of what `target` is part of."""
    body = _BODY.get(characteristic(target.characteristic).part, "")
    for entry in reversed(record.of_kind(EntryKind.TEMPERATURE)):
        if entry.body.get("of") in {None, body}:
            return entry
    return None


def apart(plan: Plan, noted: Mapping[str, Any]) -> str:
    """What is wrong with a noted temperature, in a sentence; "" when the two stand together.

    noted: the body of the note.
    """
    what = noted.get("of") or "part"
    part_c, gauge_c = Decimal(str(noted["part_c"])), Decimal(str(noted["gauge_c"]))
    apart_k = part_c - gauge_c
    if abs(apart_k) <= Decimal(str(APART_K_MOST)):
        return ""
    side = "warmer" if apart_k > 0 else "colder"
    grown = ""
    if plan.material == ALUMINIUM and what != "valve":
        micrometres = abs(float(apart_k)) * EXPANSIONS[ALUMINIUM].alpha_per_k * 100e3
        grown = f"; 100 mm of aluminium are {micrometres:.0f} µm off"
    return (
        f"the {what} is {abs(apart_k)} K {side} than the gauge{grown}; let them stand together "
        "before this is believed"
    )
