"""Values that a person keyed in or other software sent.

A keyed value is worth what the tool it was read from is worth. It is shown back before it is kept
(`checked`), and one that is far from what is likely is kept only when somebody says it is right.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from daq.head.characteristic import is_look
from daq.head.clearance import budget_shown
from daq.head.errors import QuestionError, RefusedError
from daq.head.guide_values import hold_s
from daq.head.instrument import Instrument
from daq.head.keeping import kept_body, places_asked
from daq.head.leaking import RATE_UNIT, as_leak
from daq.head.likely import question
from daq.head.measurement import Came
from daq.head.plan import Step, Target
from daq.head.quantity import canonical
from daq.head.record import Draft, EntryKind, Record
from daq.head.tools import Tool, tool_used
from daq.head.warmth import at_reference
from daq.metrology.measured import Contribution, Evaluation, Measured

TIMED_LOOK = "seat.leak_fluid"


@dataclass(frozen=True, slots=True)
class Keyed:
    """A value that a person keyed in or other software sent. value: exact, in `unit`.

    gauge: the tool; one that is not of this bench carries its name alone. confirmed: somebody has
    answered the question whether it can be right. held_s: how long a timed look was watched.
    """

    target: Target
    value: Decimal
    unit: str
    came: Came
    gauge: Instrument | None = None
    person: str | None = None
    measured_at: str | None = None
    note: str | None = None
    confirmed: bool = False
    held_s: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Checked:
    """A keyed value as it would be kept. question: what has to be answered first; "" for none."""

    body: dict[str, Any]
    question: str
    tool: Tool | None


def keyed(record: Record, asked: Keyed) -> Draft:
    """The draft that keeps a keyed or sent value.

    Raises QuestionError when it is far from what is likely and nobody has said that it is right.
    """
    found = checked(record, asked)
    if found.question and not asked.confirmed:
        raise QuestionError(found.question)
    return Draft(record.job, EntryKind.KEPT, found.body)


def checked(record: Record, asked: Keyed) -> Checked:
    """What would be kept of a keyed value, and the question about it. Raises RefusedError."""
    target = asked.target
    step = _step(record, target)
    tool, measured, digit = _as_read(asked, step)
    if asked.unit == RATE_UNIT:
        measured = as_leak(step, measured)
    settled = at_reference(record, target, measured)
    odd = question(record, target, settled.measured.value)
    short = _too_short(asked, step)
    warnings = list(settled.warnings)
    if odd and asked.confirmed:
        warnings.append(f"Kept because somebody said that it is right: {odd}")
    body = kept_body(
        record,
        target,
        measured=settled.measured,
        step_mm=digit,
        complete=not short and not settled.unbelieved,
        at_least=None,
        came=asked.came,
        instrument=asked.gauge,
        person=asked.person,
        extra={
            "note": asked.note,
            "measured_at": asked.measured_at,
            "reason": short or settled.unbelieved,
            "warnings": warnings,
            "detail": _detail(asked, tool, settled.measured),
        },
    )
    return Checked(body, odd, tool)


def _step(record: Record, target: Target) -> Step:
    step = record.plan.step(target.characteristic)
    if step is None or step.about.capture is None:
        raise RefusedError(
            f"{target.characteristic} is worked out from other measurements and cannot be entered"
        )
    if step.places != (None,) and target.place is None:
        raise RefusedError(
            f"{target.characteristic} needs a 'place'; the plan asks for {places_asked(step)}"
        )
    return step


def _as_read(asked: Keyed, step: Step) -> tuple[Tool | None, Measured, float]:
    """The tool, the value with its uncertainty, and the step that it is written to.

    Read by eye to its last digit or to the tool's division, whichever is coarser: one step either
    way, rectangular (common practice, no source); and what the tool may be off.
    """
    about = step.about
    is_rate = about.name == "seat.leak" and asked.unit == RATE_UNIT
    expected = RATE_UNIT if is_rate else about.unit
    value = canonical(asked.value, asked.unit, expected=expected)
    if is_look(about.name):
        if value not in {0, 1}:
            raise RefusedError(f"{about.name} is a look: 1 for yes, 0 for no, unit '1'")
        return None, Measured(float(value), about.unit), 1.0
    tool = None if is_rate else tool_used(asked.gauge, about.name, about.unit)
    exponent = asked.value.as_tuple().exponent
    one = Decimal(1).scaleb(int(exponent) if isinstance(exponent, int) else 0)
    digit = canonical(one, asked.unit, expected=expected)
    read_mm = float(max(digit, tool.step if tool is not None else digit))
    budget = [
        Contribution("reading by eye", read_mm / 3**0.5, Evaluation.TYPE_B, "one step either way")
    ]
    limit = None if tool is None else tool.error_limit_of(float(value))
    if tool is not None and limit:
        note = f"{tool.kind}{' assumed' if tool.assumed else ''}: {tool.source}; rectangular"
        budget.append(
            Contribution("error limit of the tool", limit / 3**0.5, Evaluation.TYPE_B, note)
        )
    return tool, Measured(float(value), expected, tuple(budget)), float(digit)


def _too_short(asked: Keyed, step: Step) -> str:
    return too_short(step, asked.held_s) if asked.value == 1 else ""


def too_short(step: Step, held_s: Decimal | None) -> str:
    """Why a timed look that was answered with yes says nothing yet; "" when it does."""
    if step.characteristic != TIMED_LOOK:
        return ""
    needed = step.hold_s or hold_s()
    if held_s is not None and held_s >= needed:
        return ""
    watched = "nobody said for how long" if held_s is None else f"watched for {held_s} s"
    return f"the fluid has to stay for {needed} s; {watched}"


def _detail(asked: Keyed, tool: Tool | None, measured: Measured) -> dict[str, Any]:
    found: dict[str, Any] = {
        "as_entered": f"{asked.value} {asked.unit}",
        "budget": budget_shown(measured),
    }
    if tool is not None:
        found["tool"] = {"kind": tool.kind, "source": tool.source, "assumed": tool.assumed}
    if asked.held_s is not None:
        found["held_s"] = str(asked.held_s)
    return found
