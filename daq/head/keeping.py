"""What every kept measurement has in common: its target checked, its value judged and written."""

from typing import Any

from daq.head.characteristic import characteristic
from daq.head.errors import RefusedError, UnknownError
from daq.head.instrument import Instrument
from daq.head.layout import HEAD
from daq.head.measurement import Came, Status, limits_shown, plain, shown, status_of
from daq.head.plan import Place, Plan, Step, Target
from daq.head.record import EntryKind, Record, target_of
from daq.head.renewal import made_new
from daq.head.ruling import ruling
from daq.metrology.measured import COVERAGE_K, Measured


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
    check_position(plan, position, name)
    if place is not None:
        _check_place(step, place)
    return Target(name, position, place)


def check_position(plan: Plan, position: str, name: str = "") -> None:
    """Raise UnknownError for a position that is not on this head, or not one of `name`."""
    known = plan.positions_of(name) if name else (*plan.head.positions, HEAD)
    if position not in known:
        where = f"of {name}" if name and known == (HEAD,) else "on this head"
        raise UnknownError(
            f"there is no position {position!r} {where}; there are {', '.join(known)}"
        )


def _check_place(step: Step, place: Place) -> None:
    name = step.characteristic
    if step.places == (None,):
        raise RefusedError(f"{name} is measured once at each valve; leave 'place' out")
    kinds = {_kind(each) for each in step.places if each is not None}
    if _kind(place) not in kinds:
        raise RefusedError(f"{name} has no place {place}; the plan asks for {places_asked(step)}")
    if step.at and place not in step.places and place.length_mm is None:
        raise RefusedError(f"{name} has no place {place}; the plan asks for {places_asked(step)}")


def _kind(place: Place) -> tuple[bool, bool]:
    return place.spot is not None, place.length_mm is not None


def places_asked(step: Step) -> str:
    """The places of a step in words."""
    return "; ".join(str(place) for place in step.places if place is not None)


def kept_body(
    record: Record,
    target: Target,
    *,
    measured: Measured | None,
    step_mm: float,
    complete: bool,
    at_least: float | None,
    came: Came,
    instrument: Instrument | None,
    person: str | None,
    extra: dict[str, Any],
    doubtful: bool = False,
) -> dict[str, Any]:
    """The body of a kept measurement: the value, judged against the limit of its step.

    at_least: what the true value is at least, in the unit of `measured`, although that is not
    complete; None where it proves nothing. doubtful: it may not be of this part at all, so it
    proves nothing.
    """
    held = ruling(record.plan, target, made_new=made_new(record, target))
    limit = None if held is None else held.limit
    value, uncertainty = shown(measured, step_mm)
    found = None if measured is None else measured.value
    status = status_of(
        found if complete else at_least,
        None if measured is None else measured.u,
        limit,
        complete=complete,
        lower_bound=True,
    )
    if doubtful:
        status = Status.INDETERMINATE
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
        "limit_source": None if held is None else held.said_by,
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
