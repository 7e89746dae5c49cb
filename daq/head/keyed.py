"""Values that a person keyed in or other software sent."""

from dataclasses import dataclass
from decimal import Decimal

from daq.head.characteristic import Characteristic, characteristic
from daq.head.errors import RefusedError
from daq.head.instrument import Instrument
from daq.head.keeping import kept_body, places_asked
from daq.head.measurement import Came
from daq.head.plan import Target
from daq.head.quantity import canonical
from daq.head.record import Draft, EntryKind, Record
from daq.metrology.measured import Contribution, Evaluation, Measured


@dataclass(frozen=True, slots=True)
class Keyed:
    """A value that a person keyed in or other software sent. value: exact, in `unit`."""

    target: Target
    value: Decimal
    unit: str
    came: Came
    gauge: Instrument | None = None
    person: str | None = None
    measured_at: str | None = None
    note: str | None = None


def keyed(record: Record, asked: Keyed) -> Draft:
    """The draft that keeps a keyed or sent value."""
    target = asked.target
    about = characteristic(target.characteristic)
    step = record.plan.step(target.characteristic)
    if step is None or about.capture is None:
        raise RefusedError(
            f"{target.characteristic} is worked out from other measurements and cannot be entered"
        )
    if step.places != (None,) and target.place is None:
        raise RefusedError(
            f"{target.characteristic} needs a 'place'; the plan asks for {places_asked(step)}"
        )
    value = canonical(asked.value, asked.unit, expected=about.unit)
    measured, step_mm = _as_read(asked, value, about)
    body = kept_body(
        record,
        target,
        measured=measured,
        step_mm=step_mm,
        complete=True,
        lower_bound=False,
        came=asked.came,
        instrument=asked.gauge,
        person=asked.person,
        extra={
            "note": asked.note,
            "measured_at": asked.measured_at,
            "reason": "",
            "warnings": [],
            "detail": {"as_entered": f"{asked.value} {asked.unit}"},
        },
    )
    return Draft(record.job, EntryKind.KEPT, body)


def _as_read(asked: Keyed, value: Decimal, about: Characteristic) -> tuple[Measured, float]:
    """A keyed number with what can honestly be said of its uncertainty.

    Read by eye to its last digit: one step either way, rectangular (common practice, no source),
    and the gauge's error limit where the gauge is known.
    """
    exponent = asked.value.as_tuple().exponent
    digit = Decimal(1).scaleb(int(exponent) if isinstance(exponent, int) else 0)
    step = float(canonical(digit, asked.unit, expected=about.unit))
    if about.unit == "1":
        return Measured(float(value), about.unit), 1.0
    if asked.gauge is not None:
        step = max(step, asked.gauge.resolution_mm)
    budget = [
        Contribution("reading by eye", step / 3**0.5, Evaluation.TYPE_B, "one step either way")
    ]
    if asked.gauge is not None and asked.gauge.error_limit_mm is not None:
        budget.append(
            Contribution(
                "gauge error limit",
                asked.gauge.error_limit_mm / 3**0.5,
                Evaluation.TYPE_B,
                "rectangular",
            )
        )
    return Measured(float(value), about.unit, tuple(budget)), step
