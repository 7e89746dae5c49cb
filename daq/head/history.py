"""What a record knows of its parts besides measurements: work done, and what was left out."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from daq.head.layout import HEAD
from daq.head.plan import Target
from daq.head.record import EntryKind, Record, target_of


@dataclass(frozen=True, slots=True)
class Worked:
    """One work on a part. act: its word, "worked on" where nobody said; voids: characteristics."""

    id: str
    at: str
    position: str
    part: str
    act: str
    what: str
    person: str | None
    voids: tuple[str, ...]

    def touched(self, position: str, characteristic: str) -> bool:
        """Whether it made that characteristic untrue at that position."""
        return self.position in {position, HEAD} and characteristic in self.voids


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Why a target was skipped. because: missing, scrap, or other; reason: in a person's words."""

    because: str
    reason: str
    person: str | None


_UNDONE_BY = {
    "refaced": frozenset({"replaced", "exchanged"}),
    "cut": frozenset({"renewed"}),
    "lapped": frozenset({"cut", "renewed"}),
}


@dataclass(frozen=True, slots=True)
class History:
    """works: in order. left_out: by target. voided: how many takes of a target were voided."""

    works: tuple[Worked, ...] = ()
    left_out: Mapping[Target, LeftOut] = field(default_factory=dict)
    voided: Mapping[Target, int] = field(default_factory=dict)

    def last_work(self, position: str, characteristic: str) -> Worked | None:
        """The last work that made that characteristic untrue there."""
        touching = (w for w in reversed(self.works) if w.touched(position, characteristic))
        return next(touching, None)

    def was_done(self, position: str, part: str, act: str) -> bool:
        """Whether that work was done on the part that is there now, and still tells.

        What was refaced is another valve after the valve was replaced, and lapping is gone with
        the next cut.
        """
        done = [w.act for w in self.works if (w.position, w.part) == (position, part)]
        if act not in done:
            return False
        since = done[len(done) - done[::-1].index(act) :]
        return not _UNDONE_BY.get(act, frozenset()) & set(since)


def history_of(record: Record) -> History:
    """What the record says of work, of what was left out, and of takes that were voided."""
    voided: dict[Target, int] = {}
    for measurement_id in record.voids:
        target = target_of(record.kept(measurement_id).body)
        voided[target] = voided.get(target, 0) + 1
    return History(
        works=tuple(
            Worked(
                id=entry.id,
                at=entry.at,
                position=str(entry.body["position"]),
                part=str(entry.body["part"]),
                act=str(entry.body.get("act") or "worked on"),
                what=str(entry.body["what"]),
                person=entry.body.get("person"),
                voids=tuple(entry.body["invalidates"]),
            )
            for entry in record.of_kind(EntryKind.REWORKED)
        ),
        left_out={
            target: LeftOut(
                because=str(entry.body.get("because") or "other"),
                reason=str(entry.body["reason"]),
                person=entry.body.get("person"),
            )
            for target, entry in record.skips.items()
        },
        voided=voided,
    )
