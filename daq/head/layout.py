"""Positions of a head: which valves there are, named `1I`, `3Eb`, in the order of the bench.

Cylinder 1 is at the end that was said when the job was opened; where a cylinder has two valves
of a kind, a letter counts them front to rear (own convention). What belongs to the head as a
whole has the position `head`.
"""

import re
from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

Side = Literal["I", "E"]
Bank = Literal["left", "right"]
HEAD = "head"
VALVES_MIN, VALVES_MAX = 2, 5
_POSITION = re.compile(r"([1-9]\d?)([IE])([a-c])?")


class Layout(BaseModel):
    """How many cylinders a head has, and how many intake and exhaust valves each.

    bank: which of two banks the head is of, seen from the flywheel end (TM 5-3895-382-24); None
    for an engine with one head. numbers: the cylinders of this head front to rear, where they are
    not 1, 2, 3 … (one bank of a V engine may hold 2, 4, 6; the order is the engine maker's).
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    cylinders: Annotated[int, Field(ge=1, le=12)]
    intake: Annotated[int, Field(ge=1, le=3)] = 1
    exhaust: Annotated[int, Field(ge=1, le=3)] = 1
    bank: Bank | None = None
    numbers: Annotated[tuple[Annotated[int, Field(ge=1, le=24)], ...], Field(max_length=12)] = ()

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        valves = self.intake + self.exhaust
        if not VALVES_MIN <= valves <= VALVES_MAX:
            raise ValueError(
                f"{valves} valves a cylinder; taken are {VALVES_MIN} to {VALVES_MAX} together"
            )
        if self.numbers and len(self.numbers) != self.cylinders:
            raise ValueError(
                f"'numbers' names {len(self.numbers)} cylinders, and 'cylinders' says "
                f"{self.cylinders}"
            )
        if len(set(self.numbers)) != len(self.numbers):
            raise ValueError("'numbers' names a cylinder twice")
        if self.numbers and self.bank is None and self.numbers != self._counted:
            raise ValueError("'numbers' other than 1, 2, 3 … need 'bank', left or right")
        return self

    @property
    def _counted(self) -> tuple[int, ...]:
        return tuple(range(1, self.cylinders + 1))

    @property
    def positions(self) -> tuple[str, ...]:
        """Every position, cylinder by cylinder, intake before exhaust."""
        return tuple(
            f"{cylinder}{side}{letter}"
            for cylinder in self.numbers or self._counted
            for side, count in (("I", self.intake), ("E", self.exhaust))
            for letter in ([""] if count == 1 else "abc"[:count])
        )


def side_of(position: str) -> Side:
    """`I` or `E`. Raises ValueError for text that is no position of a valve."""
    found = _POSITION.fullmatch(position)
    if found is None:
        raise ValueError(
            f"{position!r} is not a position; positions are written like '1I' or '3Eb'"
        )
    return "I" if found[2] == "I" else "E"
