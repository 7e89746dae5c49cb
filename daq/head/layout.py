"""Positions of a head: which valves there are, named `1I`, `3Eb`, in the order of the bench.

Cylinder 1 is at the end that was said when the job was opened; where a cylinder has two valves
of a kind, a letter counts them front to rear (own convention).
"""

import re
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

Side = Literal["I", "E"]
_POSITION = re.compile(r"([1-9]\d?)([IE])([a-c])?")


class Layout(BaseModel):
    """How many cylinders a head has, and how many intake and exhaust valves each."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    cylinders: Annotated[int, Field(ge=1, le=12)]
    intake: Annotated[int, Field(ge=1, le=3)] = 1
    exhaust: Annotated[int, Field(ge=1, le=3)] = 1

    @property
    def positions(self) -> tuple[str, ...]:
        """Every position, cylinder by cylinder, intake before exhaust."""
        return tuple(
            f"{cylinder}{side}{letter}"
            for cylinder in range(1, self.cylinders + 1)
            for side, count in (("I", self.intake), ("E", self.exhaust))
            for letter in ([""] if count == 1 else "abc"[:count])
        )


def side_of(position: str) -> Side:
    """`I` or `E`. Raises ValueError for text that is no position."""
    found = _POSITION.fullmatch(position)
    if found is None:
        raise ValueError(
            f"{position!r} is not a position; positions are written like '1I' or '3Eb'"
        )
    return "I" if found[2] == "I" else "E"
