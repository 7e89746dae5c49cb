"""What every capture takes, gives and promises; the kinds are in the modules beside this one.

A capture is fed the readings of one gauge and never asks what time it is. Its result is a pure
function of the readings fed so far, however they were cut into batches, so evaluating a stored
trace gives the stored value again.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, ClassVar, NamedTuple, Protocol

from daq.metrology.measured import Measured
from drivers.reading import Reading


class Kind(StrEnum):
    """The kinds of capture."""

    TURN = "turn"
    ROCK = "rock"
    SETTLE = "settle"
    DECAY = "decay"
    LOOK = "look"


class Hint(StrEnum):
    """What the person should do next, as a code; the page owns the words."""

    BEGIN = "begin"  # nothing has moved yet
    GO_ON = "go-on"  # it is going well, not enough yet
    SLOWER = "slower"  # too few readings fall on a turn or a swing
    ONE_WAY = "one-way"  # looks swayed: turn it one way, or go on to keep it
    HARDLY = "hardly"  # moves no more than a part that lies still may: press if it was turned
    AGAIN = "again"  # long turned and nothing proven: what disturbed it stays in the trace
    HOLD_STILL = "hold-still"
    DONE = "done"


@dataclass(frozen=True, slots=True)
class Setup:
    """What is known of gauge and fixture before the first reading.

    Lengths in the unit of the readings (millimetres; millibar for decay). resolution: the
    gauge's step, None when unknown (a capture then finds it from the readings). error_limit:
    the gauge's largest permitted error, half-width of a rectangle. stylus_angle_deg: between
    stylus and surface (lever) or plunger and direction of motion, 0 is ideal. v_angle_deg:
    included angle of the V-blocks, None when there are none. one_way: the person's word that
    the part is turned one way only. turned: the person's word, once it was seen to move hardly,
    that it was turned all the same.
    """

    resolution: float | None = None
    error_limit: float | None = None
    stylus_angle_deg: float = 0.0
    v_angle_deg: float | None = None
    one_way: bool = False
    turned: bool = False


class Angle(StrEnum):
    """Where the angles of a turn come from."""

    NONE = ""  # not known: nothing has come again, and there is no index
    INDEX = "index"  # an index passed
    COUNTED = "counted"  # a press as the same place passed
    REPEAT = "repeat"  # worked out of what came again


class Landmark(NamedTuple):
    """A place in a trace that its picture hangs on.

    A high or a low of a turn, the least reading of a swing, the start of a loss. value is NaN
    where no level is known. turns: how far the part had turned, None where that is not known.
    counts: whether the value rests on it.
    """

    t_s: float
    value: float
    turns: float | None = None
    counts: bool = True


@dataclass(frozen=True, slots=True)
class Progress:
    """What a page can show while a capture runs.

    value: best figure so far, or None. share: 0 to 1, how much of what is needed has been seen.
    turns: whole and part turns seen, for a turn. angle, landmarks: as of the last look.
    since_s, until_s: time of the first and the last reading that took part, None before.
    """

    hint: Hint
    share: float
    value: float | None = None
    turns: float | None = None
    done: bool = False
    angle: Angle = Angle.NONE
    landmarks: tuple[Landmark, ...] = ()
    since_s: float | None = None
    until_s: float | None = None


@dataclass(frozen=True, slots=True)
class Captured:
    """One trace turned into one value.

    measured: None when nothing at all could be seen. complete: False means not enough to say;
    the value is then what was seen. at_least: what the true value is at least, with the
    uncertainty of `measured`, where an incomplete capture proves as much; None where it proves
    nothing. reason: why it is not complete, one sentence for a person, empty when it is. warnings:
    sentences to show beside the value. detail: JSON-able facts about how the value came about.
    """

    kind: Kind
    measured: Measured | None
    complete: bool
    at_least: float | None = None
    reason: str = ""
    warnings: tuple[str, ...] = ()
    detail: dict[str, Any] = field(default_factory=dict)


class Capture(Protocol):
    """Readings in batches, one value out. Built with a `Setup`."""

    kind: ClassVar[Kind]

    @property
    def done(self) -> bool:
        """Enough was seen; the bench takes the result and stops feeding."""
        ...

    def feed(self, readings: Sequence[Reading]) -> None:
        """Take more readings, in order of time. Readings that are not OK carry no number."""
        ...

    def rest(self, t_s: float) -> None:
        """Learn that no reading came up to `t_s`: a silent gauge may finish a complete capture."""
        ...

    def progress(self) -> Progress:
        """How far it is, at a cost that does not grow with the trace."""
        ...

    def result(self) -> Captured:
        """The value of all readings fed so far."""
        ...
