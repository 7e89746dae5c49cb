"""A record with its lengths in inches, for a reader who thinks in them; done once, before printing.

Judged was in millimetres. A value keeps its fineness (one digit more behind the point), an
uncertainty is rounded up and a limit inwards with three digits more, so that no figure in inches
is kinder than the one it came from.
"""

from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from typing import Any

from api.export.given import LengthUnit
from daq.head.measurement import Limits, Measurement
from daq.head.shapes import Figure
from daq.head.view import RecordView

MM_PER_INCH = Decimal("25.4")
INCH = "[in_i]"
# A limit of 0.03 mm is 0.00118 in, and 0.001 in would be a sixth less.
LIMIT_DIGITS = 3


def in_length_unit(record: RecordView, unit: LengthUnit) -> RecordView:
    """The record as it is for mm; a copy with lengths in inches for in."""
    if unit == "mm":
        return record
    return record.model_copy(
        update={
            "measurements": tuple(map(_measurement, record.measurements)),
            "shapes": tuple(
                shape.model_copy(update={"figures": tuple(map(_figure, shape.figures))})
                for shape in record.shapes
            ),
            "reworks": tuple(
                work.model_copy(update={"changes": tuple(map(_change, work.changes))})
                for work in record.reworks
            ),
        }
    )


def _measurement(m: Measurement) -> Measurement:
    if m.unit != "mm":
        return m
    limits = m.limits and Limits(
        lower=_inches(m.limits.lower, ROUND_CEILING, more=LIMIT_DIGITS),
        upper=_inches(m.limits.upper, ROUND_FLOOR, more=LIMIT_DIGITS),
    )
    changed: dict[str, Any] = {
        "value": _inches(m.value, ROUND_HALF_EVEN),
        "uncertainty": _inches(m.uncertainty, ROUND_CEILING),
        "limits": limits,
        "unit": INCH,
    }
    return m.model_copy(update=changed)


def _figure(figure: Figure) -> Figure:
    if figure.unit != "mm":
        return figure
    return figure.model_copy(
        update={
            "value": _inches(figure.value, ROUND_HALF_EVEN),
            "uncertainty": _inches(figure.uncertainty, ROUND_CEILING),
            "unit": INCH,
        }
    )


def _change(change: Any) -> Any:
    if change.unit != "mm":
        return change
    ends = {name: _inches(getattr(change, name), ROUND_HALF_EVEN) for name in ("before", "after")}
    return change.model_copy(update={**ends, "unit": INCH})


def _inches(value: Decimal | None, rounding: str, more: int = 1) -> Decimal | None:
    if value is None:
        return None
    exponent = value.as_tuple().exponent
    digits = (-exponent if isinstance(exponent, int) else 0) + more
    return (value / MM_PER_INCH).quantize(Decimal(1).scaleb(-max(digits, 0)), rounding)
