"""What a work made untrue, and what was measured before and after it."""

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from pydantic import BaseModel, ConfigDict

from daq.head.clearance import clearances
from daq.head.deciding.judged import judged
from daq.head.history import Worked, history_of
from daq.head.kept import measurement_of
from daq.head.layout import HEAD
from daq.head.measurement import Measurement
from daq.head.place import Place
from daq.head.plan import Plan, Target
from daq.head.record import Entry, EntryKind, Record
from daq.head.rework import CLEARANCES


class Change(BaseModel):
    """One value before and after. after: null while it has not been measured again.

    Several takes of one place are pooled, before and after; ids are those of the takes.
    """

    model_config = ConfigDict(frozen=True)

    characteristic: str
    position: str
    place: Place | None
    unit: str
    before: Decimal | None
    after: Decimal | None
    before_ids: tuple[str, ...]
    after_ids: tuple[str, ...]


class ReworkShown(BaseModel):
    """One work on a part. again: what it made untrue and nobody has measured again yet."""

    model_config = ConfigDict(frozen=True)

    id: str
    at: str
    position: str
    part: str
    act: str
    what: str
    person: str | None
    voids: tuple[str, ...]
    changes: tuple[Change, ...]
    again: tuple[str, ...]


def reworks_shown(record: Record) -> tuple[ReworkShown, ...]:
    """Every work noted in the record, in order."""
    remaining = set(record.remaining)
    numbers = {entry.id: entry.number for entry in record.of_kind(EntryKind.REWORKED)}
    works = history_of(record).works
    return tuple(
        ReworkShown(
            id=work.id,
            at=work.at,
            position=work.position,
            part=work.part,
            act=work.act,
            what=work.what,
            person=work.person,
            voids=work.voids,
            changes=tuple(_changes(record, work, works, numbers)),
            again=tuple(
                _target_said(target)
                for target in record.plan.targets
                if target in remaining and work.touched(target.position, target.characteristic)
            ),
        )
        for work in works
    )


def _changes(
    record: Record, work: Worked, works: Sequence[Worked], numbers: dict[str, int]
) -> Iterator[Change]:
    before = _values(record.plan, record.standing_before(work.id), work)
    following = [
        other for other in works if numbers[other.id] > numbers[work.id] and _share(work, other)
    ]
    standing = record.standing_before(following[0].id) if following else record.standing
    after = _values(record.plan, standing, work)
    for target, takes in before.items():
        again = [take for take in after.get(target, ()) if take not in takes]
        yield _change(target, takes, again)


def _share(work: Worked, other: Worked) -> bool:
    """Whether both make something untrue at one position."""
    meets = work.position == other.position or HEAD in {work.position, other.position}
    return meets and bool(set(work.voids) & set(other.voids))


def _values(plan: Plan, entries: Iterable[Entry], work: Worked) -> dict[Target, list[Measurement]]:
    """What `entries` say of all that `work` makes untrue, with the clearances of it."""
    of_pair = {"guide.diameter", "valve.stem_diameter"}
    has_pair = bool(of_pair & set(work.voids))
    names = {*work.voids, *(CLEARANCES if has_pair else ())}
    standing = [
        measurement_of(entry)
        for entry in entries
        if work.position in {entry.body["position"], HEAD}
        and entry.body["characteristic"] in names | of_pair
    ]
    if has_pair:
        for position in plan.head.positions if work.position == HEAD else (work.position,):
            standing += clearances(plan, position, standing)
    found: dict[Target, list[Measurement]] = {}
    for take in standing:
        if take.characteristic in names:
            target = Target(take.characteristic, take.position, take.place)
            found.setdefault(target, []).append(take)
    return found


def _change(target: Target, before: Sequence[Measurement], after: Sequence[Measurement]) -> Change:
    return Change(
        characteristic=target.characteristic,
        position=target.position,
        place=target.place,
        unit=before[0].unit,
        before=judged(before).shown,
        after=judged(after).shown if after else None,
        before_ids=tuple(take.id for take in before),
        after_ids=tuple(take.id for take in after),
    )


def _target_said(target: Target) -> str:
    where = "" if target.place is None else f" ({target.place})"
    return f"{target.position} {target.characteristic}{where}"
