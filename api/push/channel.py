"""What a sender needs of a way to tell: send one event, and say what became of it."""

import json
from collections.abc import Mapping
from enum import Enum
from typing import Any, NamedTuple, Protocol

MEDIA_TYPE = "application/cloudevents+json"


class Outcome(Enum):
    """What became of a try. DOWN: the receiver takes nothing now. REFUSED: not this event.
    GONE: the receiver wants nothing more, ever."""

    DONE = "done"
    DOWN = "down"
    REFUSED = "refused"
    GONE = "gone"


class Told(NamedTuple):
    """Outcome of a try, and a sentence for the operator where it was not done."""

    outcome: Outcome
    why: str = ""


DONE = Told(Outcome.DONE)


class Channel(Protocol):
    """A way to one receiver."""

    name: str

    async def send(self, event: Mapping[str, Any]) -> Told:
        """Try once to tell `event`; never raises for what the receiver does."""

    async def idle(self, cursor: int) -> str:
        """Called every few seconds with the last cursor written; says what is wrong, or ""."""

    async def close(self) -> None:
        """Take leave."""


def as_json(event: object) -> bytes:
    """An event as the bytes that are sent and signed."""
    return json.dumps(event, separators=(",", ":"), ensure_ascii=False).encode()
