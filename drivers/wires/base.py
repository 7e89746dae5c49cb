"""What every wire takes, gives and promises.

A wire is fed the bytes of one port in chunks of any size and gives what it understood. Whatever
the cut, the same bytes give the same numbers, states and counts. Bytes it does not understand
never raise and never become a number: they are counted, and the last of them kept for display.
What a wire holds back between two chunks never exceeds its `limit_bytes`.
"""

from collections.abc import Mapping
from enum import StrEnum
from typing import Any, NamedTuple, Protocol, Self

from drivers.reading import State

LAST_REJECTED_BYTES = 48  # enough of what was not understood to recognise it on a page
# With six decimals still exact as a count of millionths in a float.
WHOLE_DIGITS_MAX = 8
DECIMALS_MAX = 6


class Answer(StrEnum):
    """What a wire says about the end of the bytes it was fed."""

    DONE = "done"  # the last message was understood, nothing is left over
    NOT_MINE = "not mine"  # the last message was not understood
    NEED_MORE = "need more"  # a message has begun and is not complete yet


class Heard(NamedTuple):
    """Numbers in a row that came with the same words around them.

    numbers: as decimal text with a point, a sign or none, no exponent. unit: the unit word as
    spoken, "" when the line carried none. channel: as spoken, or "". state: what the gauge said
    about its number; where it is not OK, every entry of `numbers` is "". commit: the message says
    that the gauge's own data key sent it.
    """

    numbers: list[str]
    unit: str = ""
    channel: str = ""
    state: State = State.OK
    commit: bool = False


class Wire(Protocol):
    """One way of speaking.

    limit_bytes: more than this is never held back. rejected_messages, rejected_bytes,
    last_rejected: what was not understood (without the line ends), its size and its tail.
    skipped_bytes: the rest of a message whose beginning was missing.
    """

    @property
    def limit_bytes(self) -> int: ...  # noqa: D102 - said above, like the next four

    @property
    def rejected_messages(self) -> int: ...  # noqa: D102

    @property
    def rejected_bytes(self) -> int: ...  # noqa: D102

    @property
    def skipped_bytes(self) -> int: ...  # noqa: D102

    @property
    def last_rejected(self) -> bytes: ...  # noqa: D102

    @classmethod
    def described(cls, tables: Mapping[str, Mapping[str, Any]]) -> Self:
        """Build the wire from the tables of a checked profile."""
        ...

    @property
    def answer(self) -> Answer:
        """What stands at the end of the bytes fed so far."""
        ...

    def ask(self) -> bytes:
        """The next request that makes the gauge speak; b"" for one that speaks by itself.

        Where requests differ (by channel, by a running number), what is fed next is taken for
        the answer to this one.
        """
        ...

    def feed(self, data: bytes) -> list[Heard]:
        """Take more bytes; give what they complete, in order."""
        ...

    def restart(self, *, torn: bool) -> None:
        """Forget a begun message. torn: what comes next may begin in the middle of a message."""
        ...


def together(heard: list[Heard], number: str, *words: Any) -> None:
    """Add a number to the last run when it came with the same words, else begin a new run."""
    if heard and heard[-1][1:] == words:
        heard[-1].numbers.append(number)
    else:
        heard.append(Heard([number], *words))
