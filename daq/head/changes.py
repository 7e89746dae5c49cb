"""What people and software ask of a job; each becomes a draft for its record, or is refused.

These need the record only. What also needs the bench (put up, take again, skip) is in
`daq.bench`. Nothing here overwrites: a correction voids with a reason.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from daq.head.characteristic import Characteristic, characteristic
from daq.head.errors import ConflictError, RefusedError, UnknownError
from daq.head.instrument import Instrument
from daq.head.measurement import Came, limits_shown, plain, shown, status_of
from daq.head.plan import Place, Plan, Target
from daq.head.quantity import canonical
from daq.head.record import Draft, EntryKind, Record, target_of
from daq.metrology.measured import COVERAGE_K, Contribution, Evaluation, Measured

# Which characteristics stop being true when a part is worked on (trade order: guide work spoils
# the seat it centres; TM 10-3930-621-34 p. 3-8, trade order of doing).
_INVALIDATED: dict[str, tuple[str, ...]] = {
    "valve": ("valve.look", "valve.stem_runout", "valve.stem_diameter", "valve.recess"),
    "guide": ("guide.diameter", "valve.recess"),
    "seat": ("valve.recess",),
}


@dataclass(frozen=True, slots=True)
class Opening:
    """A job to be opened. cylinder_one: which end is cylinder 1, as the person said it.

    bench: which bench measures it. head_serial: what is stamped on the head.
    """

    number: str
    plan: Plan
    customer: str | None = None
    complaint: str | None = None
    cylinder_one: str | None = None
    person: str | None = None
    bench: str | None = None
    head_serial: str | None = None

    def draft(self, job: str) -> Draft:
        """The first entry of the job; it carries the whole plan."""
        return Draft(
            job,
            EntryKind.JOB_OPENED,
            {
                "number": self.number,
                "plan": self.plan.model_dump(mode="json", exclude_none=True),
                "customer": self.customer,
                "complaint": self.complaint,
                "cylinder_one": self.cylinder_one,
                "person": self.person,
                "bench": self.bench,
                "head_serial": self.head_serial,
            },
        )


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


def checked_target(plan: Plan, name: str, position: str, place: Place | None) -> Target:
    """The target of that name, or a sentence about what does not exist.

    A place may be one the plan does not ask for (looking at one more depth is no mistake), but a
    part with places needs one, and a part without takes none.
    """
    characteristic(name)
    step = plan.step(name)
    if step is None:
        asked = ", ".join(step.characteristic for step in plan.steps)
        raise UnknownError(f"the plan {plan.name!r} does not ask for {name}; it asks for {asked}")
    _check_position(plan, position)
    if place is not None and not step.depths_mm:
        raise RefusedError(f"{name} is measured once at each valve; leave 'place' out")
    return Target(name, position, place)


def _check_position(plan: Plan, position: str) -> None:
    if position not in plan.head.positions:
        raise UnknownError(
            f"there is no position {position!r} on this head; there are "
            + ", ".join(plan.head.positions)
        )


def keyed(record: Record, asked: Keyed) -> Draft:
    """The draft that keeps a keyed or sent value."""
    target = asked.target
    about = characteristic(target.characteristic)
    step = record.plan.step(target.characteristic)
    if step is None or about.capture is None:
        raise RefusedError(
            f"{target.characteristic} is worked out from other measurements and cannot be entered"
        )
    if step.depths_mm and target.place is None:
        raise RefusedError(
            f"{target.characteristic} needs a 'place' with depth_mm and direction; the plan asks "
            f"for depths {', '.join(map(str, step.depths_mm))} mm, {' and '.join(step.directions)}"
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


def kept_body(
    record: Record,
    target: Target,
    *,
    measured: Measured | None,
    step_mm: float,
    complete: bool,
    lower_bound: bool,
    came: Came,
    instrument: Instrument | None,
    person: str | None,
    extra: dict[str, Any],
) -> dict[str, Any]:
    """The body of a kept measurement: the value, judged against the limit of its step."""
    step = record.plan.step(target.characteristic)
    limit = None if step is None else step.limit_at(target.position)
    value, uncertainty = shown(measured, step_mm)
    status = status_of(
        None if measured is None else measured.value,
        None if measured is None else measured.u,
        limit,
        complete=complete,
        lower_bound=lower_bound,
    )
    limits = limits_shown(limit)
    body = {
        "position": target.position,
        "characteristic": target.characteristic,
        "place": None if target.place is None else target.place.model_dump(mode="json"),
        "value": None if value is None else str(value),
        "unit": characteristic(target.characteristic).unit,
        "uncertainty": None if uncertainty is None else str(uncertainty),
        "k": str(COVERAGE_K),
        "status": status.value,
        "complete": complete,
        "came": came.value,
        "gauge": None if instrument is None else instrument.name,
        "gauge_serial": None if instrument is None else instrument.serial,
        "certificate": None if instrument is None else instrument.certificate or None,
        "calibration_due": _due_of(instrument),
        "person": person,
        "limits": None if limits is None else limits.model_dump(mode="json"),
        "limit_source": None if limit is None else limit.said_by,
        "take": take_number(record, target),
        **extra,
    }
    return dict(plain(body))


def _due_of(instrument: Instrument | None) -> str | None:
    due = None if instrument is None else instrument.calibration_due
    return None if due is None else due.isoformat()


def take_number(record: Record, target: Target) -> int:
    """1 for the first measurement of `target`, counting voided ones: a take is never hidden."""
    return 1 + sum(target_of(entry.body) == target for entry in record.of_kind(EntryKind.KEPT))


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


def voided(record: Record, measurement_id: str, reason: str, person: str | None) -> Draft:
    """The draft that voids a measurement; it stays in the record with the reason."""
    record.kept(measurement_id)
    if measurement_id in record.voids:
        already = record.voids[measurement_id].body["reason"]
        raise ConflictError(f"measurement {measurement_id} is void already: {already}")
    return Draft(
        record.job,
        EntryKind.VOIDED,
        {"measurement_id": measurement_id, "reason": reason, "person": person},
    )


def reworked(record: Record, position: str, part: str, what: str, person: str | None) -> Draft:
    """The draft that says a part was worked on, and which measurements that makes untrue."""
    _check_position(record.plan, position)
    if part not in _INVALIDATED:
        raise UnknownError(f"part {part!r} is not one of {', '.join(_INVALIDATED)}")
    return Draft(
        record.job,
        EntryKind.REWORKED,
        {
            "position": position,
            "part": part,
            "what": what,
            "person": person,
            "invalidates": list(_INVALIDATED[part]),
        },
    )
