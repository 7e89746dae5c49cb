"""Leaving something out, with a reason: one value, a whole part, a whole characteristic.

What is left out stays *not measured* in every decision; scrap is replaced.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from daq.head.characteristic import characteristic
from daq.head.errors import ConflictError, RefusedError, UnknownError
from daq.head.keeping import check_position
from daq.head.place import Place
from daq.head.plan import Target
from daq.head.record import Draft, EntryKind, Record

Because = Literal["missing", "scrap", "other"]


@dataclass(frozen=True, slots=True)
class Which:
    """What is meant: everything that every given name fits. None leaves a name open."""

    characteristic: str | None = None
    part: str | None = None
    position: str | None = None
    place: Place | None = None

    @property
    def is_empty(self) -> bool:
        """Whether nothing is named, so that what is up is meant."""
        return (self.characteristic, self.part, self.position, self.place) == (None,) * 4


def chosen(record: Record, which: Which) -> tuple[Target, ...]:
    """What is still to be measured of `which`. Raises UnknownError or ConflictError."""
    _check(record, which)
    found = tuple(
        target
        for target in record.remaining
        if which.characteristic in {None, target.characteristic}
        and which.part in {None, characteristic(target.characteristic).part}
        and which.position in {None, target.position}
        and which.place in {None, target.place}
    )
    if not found:
        raise ConflictError("nothing of that is left to be measured, so there is nothing to skip")
    return found


def _check(record: Record, which: Which) -> None:
    if which.characteristic is not None:
        characteristic(which.characteristic)
    if which.position is not None:
        check_position(record.plan, which.position)
    parts = dict.fromkeys(step.about.part for step in record.plan.steps)
    if which.part is not None and which.part not in parts:
        raise UnknownError(
            f"the plan asks for nothing of a {which.part!r}; its parts are " + ", ".join(parts)
        )
    if which.place is not None and which.characteristic is None:
        raise RefusedError("a 'place' belongs to a characteristic; say which")


def left_out(
    record: Record,
    targets: Sequence[Target],
    *,
    because: Because,
    reason: str,
    person: str | None,
) -> list[Draft]:
    """One draft for each of `targets`: the record names everything that was left out."""
    return [
        Draft(
            record.job,
            EntryKind.SKIPPED,
            {
                "characteristic": target.characteristic,
                "position": target.position,
                "place": None if target.place is None else target.place.model_dump(mode="json"),
                "because": because,
                "reason": reason,
                "person": person,
            },
        )
        for target in targets
    ]
