"""A keyed value shown back before it is kept: in both units, with its worth and its limit."""

from decimal import Decimal
from typing import Literal

from pydantic import BaseModel

from daq.head.fitting import Fitting
from daq.head.inches import MM_PER_INCH
from daq.head.keyed import Checked
from daq.head.measurement import Limits, Measurement, Status

_INCH_DIGITS = 4


class ToolShown(BaseModel):
    """What a value was read from, and who says how far it may be off. assumed: nobody named it."""

    kind: str
    source: str
    assumed: bool


class CheckedShown(BaseModel):
    """What would be kept. shown: the value in words, in the plan's unit first. question: what has
    to be answered with `confirmed` before it is kept; null when nothing is odd. fits: for a
    diameter that is judged by its pair, what would fit the other part of it; null otherwise."""

    characteristic: str
    position: str
    shown: str
    value: Decimal
    unit: str
    uncertainty: Decimal | None
    k: Decimal
    status: Status
    complete: bool
    limits: Limits | None
    limit_source: str | None
    reason: str
    warnings: list[str]
    tool: ToolShown | None
    question: str | None
    fits: Fitting | None


def checked_shown(
    checked: Checked, unit: Literal["mm", "in"], fits: Fitting | None = None
) -> CheckedShown:
    """The answer for a value that is looked at before it is kept."""
    body = checked.body
    m = Measurement.model_validate({**body, "id": "", "measured_at": body["measured_at"] or ""})
    tool = checked.tool
    return CheckedShown(
        characteristic=m.characteristic,
        position=m.position,
        shown=_in_words(m, unit),
        value=m.value or Decimal(0),
        unit=m.unit,
        uncertainty=m.uncertainty,
        k=m.k,
        status=m.status,
        complete=m.complete,
        limits=m.limits,
        limit_source=m.limit_source,
        reason=m.reason,
        warnings=list(m.warnings),
        tool=None
        if tool is None
        else ToolShown(kind=tool.kind, source=tool.source, assumed=tool.assumed),
        question=checked.question or None,
        fits=fits,
    )


def _in_words(m: Measurement, unit: Literal["mm", "in"]) -> str:
    """The value in the plan's unit and the other; a recess with deep or proud, a look with yes."""
    value = m.value or Decimal(0)
    if m.unit == "1":
        return "yes" if value else "no"
    if m.unit != "mm":
        return f"{value.normalize():f} {m.unit}"
    word = ""
    if m.characteristic == "valve.recess":
        word = " proud" if value < 0 else " deep"
        value = abs(value)
    mm = f"{value.normalize():f} mm"
    inch = f"{round(value / MM_PER_INCH, _INCH_DIGITS)} in"
    first, second = (mm, inch) if unit == "mm" else (inch, mm)
    return f"{first}{word} ({second})"
