"""What each command writes. The state it needs is the bench's and the record's; it changes none."""

from typing import TYPE_CHECKING

from daq.bench.asked import (
    Answer,
    Change,
    KeyIn,
    OpenJob,
    Press,
    PutUp,
    Rework,
    Sign,
    Skip,
    TakeAgain,
    Temperature,
    Void,
    Zero,
)
from daq.bench.drafts import broken_draft, up_draft
from daq.bench.shown import Phase
from daq.bench.value import kept_draft
from daq.capture.look import Look
from daq.head import changes
from daq.head.characteristic import characteristic
from daq.head.errors import ConflictError, RefusedError, UnknownError
from daq.head.keeping import checked_target
from daq.head.keyed import keyed
from daq.head.plan import Place, Target
from daq.head.record import Draft, EntryKind, Record

if TYPE_CHECKING:
    from daq.bench.bench import Bench

TAKEN_AGAIN = "taken again at the bench"
# Between these a workshop can be measured in; outside them a slip of unit or sign is likely.
TEMPERATURE_C_MIN, TEMPERATURE_C_MAX = -20, 120


def drafts_for(bench: "Bench", asked: Change, record: Record | None) -> list[Draft]:
    """The drafts of `asked`. Raises RefusedError, UnknownError or ConflictError."""
    if isinstance(asked, OpenJob):
        return [asked.opening.draft(bench.new_id())]
    if isinstance(asked, Press):
        return _press(bench)
    if record is None:
        raise UnknownError("that job does not exist")
    if record.is_signed:
        number = record.opening["number"]
        raise ConflictError(f"job {number} is signed and closed; open a new job for more")
    match asked:
        case PutUp():
            return _put_up(bench, record, asked)
        case TakeAgain():
            return _take_again(bench, record, asked)
        case Skip():
            return _skip(bench, record, asked)
        case Answer():
            return _answer(bench, record, asked)
        case KeyIn():
            return _key_in(bench, record, asked)
        case Void():
            return [changes.voided(record, asked.measurement_id, asked.reason, asked.person)]
        case Rework():
            return [changes.reworked(record, asked.reworked)]
        case Temperature():
            return [_temperature(record, asked)]
        case Zero():
            return [_zero(bench, record, asked)]
        case Sign():
            return [Draft(record.job, EntryKind.SIGNED, {"person": asked.person})]


def _press(bench: "Bench") -> list[Draft]:
    if bench.can_keep():
        return bench.keep_doubted()
    if bench.phase is Phase.CAPTURING:
        raise ConflictError("nothing to go on from yet: what is up has not been measured")
    drafts = bench.go_on() if bench.may_go_on() else []
    if not drafts:
        raise ConflictError(bench.progress().message)
    return drafts


def _put_up(bench: "Bench", record: Record, asked: PutUp) -> list[Draft]:
    target = checked_target(record.plan, asked.characteristic, asked.position, asked.place)
    if characteristic(target.characteristic).capture is None:
        raise RefusedError(
            f"{target.characteristic} is worked out from other measurements; nothing to put up"
        )
    step = record.plan.step(target.characteristic)
    if target.place is None and step is not None and step.places != (None,):
        target = target._replace(place=_next_place(record, target))
    drafts = []
    if bench.record is not None and bench.phase is Phase.CAPTURING and bench.begun and bench.target:
        drafts.append(
            broken_draft(bench.record.job, bench.target, "something else was put up meanwhile")
        )
    return [*drafts, up_draft(record.job, target)]


def _next_place(record: Record, target: Target) -> Place | None:
    """The first place not measured yet, or the first of all when every one is."""
    step = record.plan.step(target.characteristic)
    places = step.places if step is not None else ()
    left = {t.place for t in record.remaining if t[:2] == target[:2]}
    return next((place for place in places if place in left), places[0] if places else None)


def _take_again(bench: "Bench", record: Record, asked: TakeAgain) -> list[Draft]:
    if bench.record is None or bench.record.job != record.job:
        raise ConflictError("that job is not on the bench; put something of it up first")
    if bench.phase in {Phase.CAPTURING, Phase.NOT_KEPT} and bench.target is not None:
        drafts = [up_draft(record.job, bench.target)]
        if bench.begun or bench.phase is Phase.NOT_KEPT:
            reason = bench.doubt or "taken again before it was complete"
            drafts.insert(0, broken_draft(record.job, bench.target, reason))
        return drafts
    taken = bench.taken
    if taken is None or taken.id not in {entry.id for entry in record.standing}:
        raise ConflictError("nothing was taken at the bench yet that could be taken again")
    return [
        changes.voided(record, taken.id, TAKEN_AGAIN, asked.person),
        up_draft(record.job, taken.target),
    ]


def _skip(bench: "Bench", record: Record, asked: Skip) -> list[Draft]:
    target = bench.target
    if bench.record is None or bench.record.job != record.job or target is None:
        raise ConflictError("nothing of that job is up that could be skipped")
    body = {**dict(up_draft(record.job, target).body), "reason": asked.reason}
    drafts = [Draft(record.job, EntryKind.SKIPPED, {**body, "person": asked.person})]
    following = bench.following(but=target)
    if following is not None:
        drafts.append(up_draft(record.job, following))
    return drafts


def _answer(bench: "Bench", record: Record, asked: Answer) -> list[Draft]:
    target = bench.target
    if bench.record is None or bench.record.job != record.job or target is None:
        raise ConflictError("nothing of that job is up that could be answered")
    if characteristic(target.characteristic).capture != "look":
        raise ConflictError(f"{target.characteristic} is measured, not looked at")
    look = Look()
    look.answer(asked.passed, asked.note)
    drafts = [kept_draft(record, target, look.result(), instrument=None, trace=[])]
    following = bench.following(but=target)
    if following is not None:
        drafts.append(up_draft(record.job, following))
    return drafts


def _key_in(bench: "Bench", record: Record, asked: KeyIn) -> list[Draft]:
    drafts = [keyed(record, asked.keyed)]
    target = asked.keyed.target
    is_up = bench.record is not None and bench.record.job == record.job and bench.target == target
    if is_up and bench.phase is not Phase.TAKE_OUT:
        following = bench.following(but=target)
        if following is not None:
            drafts.append(up_draft(record.job, following))
    return drafts


def _temperature(record: Record, asked: Temperature) -> Draft:
    for what, value in (("part", asked.part_c), ("gauge", asked.gauge_c)):
        if not TEMPERATURE_C_MIN <= value <= TEMPERATURE_C_MAX:
            raise RefusedError(
                f"the {what} temperature of {value} °C cannot be; give degrees Celsius from "
                f"{TEMPERATURE_C_MIN} to {TEMPERATURE_C_MAX}"
            )
    return Draft(
        record.job,
        EntryKind.TEMPERATURE,
        {
            "part_c": str(asked.part_c),
            "gauge_c": str(asked.gauge_c),
            "person": asked.person,
        },
    )


def _zero(bench: "Bench", record: Record, asked: Zero) -> Draft:
    instrument = bench.instruments.get(asked.gauge)
    if instrument is None:
        known = ", ".join(bench.instruments) or "none"
        raise UnknownError(f"there is no gauge {asked.gauge!r} on this bench; there are {known}")
    ring = next((each for each in bench.fixture.rings if each.name == asked.ring), None)
    if ring is None:
        known = ", ".join(each.name for each in bench.fixture.rings) or "none"
        raise UnknownError(f"there is no ring {asked.ring!r} in the config; there are {known}")
    shown_mm = None if asked.shown_mm is None else float(asked.shown_mm)
    if shown_mm is None:
        shown_mm = bench.streams[instrument.name].level
    if shown_mm is None:
        raise ConflictError(
            f"{instrument.name} is not still: hold it in {ring.name} at its least reading and "
            "press again, or give 'shown_mm'"
        )
    return Draft(
        record.job,
        EntryKind.ZEROED,
        {
            "gauge": instrument.name,
            "gauge_serial": instrument.serial,
            "ring": ring.name,
            "certificate": ring.certificate,
            "size_mm": f"{ring.size_mm:.6f}",
            "shown_mm": f"{shown_mm:.6f}",
            "person": asked.person,
        },
    )
