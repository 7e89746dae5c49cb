"""What people and software ask of the bench. A command enters it exactly as a reading does."""

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from daq.head.changes import Opening, Reworked
from daq.head.keyed import Keyed
from daq.head.leaving_out import Because, Which
from daq.head.photograph import Photographed
from daq.head.plan import Place


@dataclass(frozen=True, slots=True)
class OpenJob:
    """Open a job; with nothing else on the bench its first characteristic goes up by itself."""

    opening: Opening


@dataclass(frozen=True, slots=True)
class PutUp:
    """Put one characteristic up; counts as a press. place None: the next one not measured."""

    job: str
    characteristic: str
    position: str
    place: Place | None = None


@dataclass(frozen=True, slots=True)
class Press:
    """Go on: the part was changed, or what is in doubt is to be kept all the same."""


@dataclass(frozen=True, slots=True)
class TakeAgain:
    """Void what was just taken, or drop what is being taken, and take it again."""

    job: str
    person: str | None = None


@dataclass(frozen=True, slots=True)
class Skip:
    """Leave out what is up, or what `which` names; the record says so and with what reason."""

    job: str
    reason: str
    person: str | None = None
    because: Because = "other"
    which: Which = field(default_factory=Which)


@dataclass(frozen=True, slots=True)
class Order:
    """Go on by characteristic (one set-up of a gauge at a time) or by part (one in the hand)."""

    job: str
    by: Literal["characteristic", "part"]
    person: str | None = None


@dataclass(frozen=True, slots=True)
class Answer:
    """The answer to a look that is up. held_s: how long a timed one was watched."""

    job: str
    passed: bool
    note: str = ""
    person: str | None = None
    held_s: Decimal | None = None


@dataclass(frozen=True, slots=True)
class KeyIn:
    """Keep a value that was keyed in or sent."""

    job: str
    keyed: Keyed


@dataclass(frozen=True, slots=True)
class Void:
    """Void a measurement with a reason."""

    job: str
    measurement_id: str
    reason: str
    person: str | None = None


@dataclass(frozen=True, slots=True)
class Rework:
    """Say that a part was worked on."""

    job: str
    reworked: Reworked


@dataclass(frozen=True, slots=True)
class Temperature:
    """Note the temperatures of part and gauge, in degrees Celsius.

    of: the head (with guides and seats) or the valves; None for whatever is measured. ring_c: of
    the setting ring, where it is not that of the gauge. confirmed: somebody has answered the
    question whether they can be right.
    """

    job: str
    part_c: Decimal
    gauge_c: Decimal
    person: str | None = None
    of: Literal["head", "valve"] | None = None
    ring_c: Decimal | None = None
    confirmed: bool = False


@dataclass(frozen=True, slots=True)
class Zero:
    """Note what a gauge shows in a setting ring. shown_mm None: what it shows at this moment.

    confirmed: somebody has answered the question whether it is in the ring.
    """

    job: str
    gauge: str
    ring: str
    shown_mm: Decimal | None = None
    person: str | None = None
    confirmed: bool = False


@dataclass(frozen=True, slots=True)
class Photograph:
    """Keep a photograph of the job or of one of its parts."""

    job: str
    photographed: Photographed


@dataclass(frozen=True, slots=True)
class Sign:
    """Close the job; nothing is written into it after that."""

    job: str
    person: str
    reason: str | None = None


Change = (
    OpenJob
    | PutUp
    | Press
    | TakeAgain
    | Skip
    | Order
    | Answer
    | KeyIn
    | Void
    | Rework
    | Temperature
    | Zero
    | Photograph
    | Sign
)
