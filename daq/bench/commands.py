"""What each command writes. The state it needs is the bench's and the record's; it changes none."""

from dataclasses import replace
from typing import TYPE_CHECKING

from daq.bench.asked import (
    Answer,
    Change,
    KeyIn,
    OpenJob,
    Order,
    Photograph,
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
from daq.bench.conditions import temperature_draft, zero_draft
from daq.bench.drafts import broken_draft, up_draft
from daq.bench.shown import Phase
from daq.bench.value import kept_draft
from daq.capture.look import Look
from daq.head import changes
from daq.head.characteristic import characteristic
from daq.head.errors import ConflictError, RefusedError, UnknownError
from daq.head.keeping import checked_target
from daq.head.keyed import keyed, too_short
from daq.head.leaving_out import chosen, left_out
from daq.head.photograph import photographed
from daq.head.plan import Place, Target
from daq.head.record import Draft, EntryKind, Record
from daq.head.signing import signed

if TYPE_CHECKING:
    from daq.bench.bench import Bench

TAKEN_AGAIN = "taken again at the bench"


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
            return [temperature_draft(record, asked)]
        case Zero():
            return [zero_draft(bench, record, asked)]
        case Order():
            return [Draft(record.job, EntryKind.ORDERED, {"by": asked.by, "person": asked.person})]
        case Photograph():
            return [photographed(record, asked.photographed)]
        case Sign():
            return [signed(record, asked.person, asked.reason)]


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
    up = bench.target if bench.record is not None and bench.record.job == record.job else None
    if not asked.which.is_empty:
        targets = chosen(record, asked.which)
    elif up is not None:
        targets = (up,)
    else:
        raise ConflictError("nothing of that job is up that could be skipped")
    drafts = left_out(
        record, targets, because=asked.because, reason=asked.reason, person=asked.person
    )
    if up in targets and bench.phase is not Phase.TAKE_OUT:
        following = bench.following(gone=targets)
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
    step = record.plan.step(target.characteristic)
    short = "" if step is None or not asked.passed else too_short(step, asked.held_s)
    seen = replace(look.result(), complete=not short, reason=short)
    drafts = [kept_draft(record, target, seen, instrument=None, trace=[], person=asked.person)]
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
