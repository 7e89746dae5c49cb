"""The `ask` wire: a request goes out, then an answer comes back in one of the other ways.

When to ask, and whether what came is an answer or came too late, is the gauge's business; the wire
knows what to say. A box whose gauges are asked one after the other has a request a channel: what
comes after a request is that channel's.
"""

from collections.abc import Mapping
from typing import Any, Self

from drivers.wires.base import Answer, Heard, Wire
from drivers.wires.frame import Frame
from drivers.wires.line import Line
from drivers.wires.picture import Picture


class Ask:
    """Keeps the contract of `drivers.wires.base.Wire`.

    wire: how the answers are spoken. requests: by channel, in the order they are asked in.
    """

    def __init__(self, wire: Wire, requests: Mapping[str, bytes]) -> None:
        self._wire = wire
        self._requests = list(requests.items())
        self._next = 0
        self._channel = ""

    @classmethod
    def described(cls, tables: Mapping[str, Mapping[str, Any]]) -> Self:
        """Build from the profile's table `ask` and the one that describes the answer."""
        answers: type[Wire] = Line
        if tables["picture"]:
            answers = Picture
        elif tables["frame"]:
            answers = Frame
        requests = tables["ask"]["channels"] or {"": tables["ask"]["request"]}
        encoded = {channel: text.encode("ascii") for channel, text in requests.items()}
        return cls(answers.described(tables), encoded)

    @property
    def limit_bytes(self) -> int:
        """More than this is never held back."""
        return self._wire.limit_bytes

    @property
    def rejected_messages(self) -> int:
        """Messages that were not understood."""
        return self._wire.rejected_messages

    @property
    def rejected_bytes(self) -> int:
        """Their size."""
        return self._wire.rejected_bytes

    @property
    def skipped_bytes(self) -> int:
        """Bytes of messages whose beginning was missing."""
        return self._wire.skipped_bytes

    @property
    def last_rejected(self) -> bytes:
        """The last of what was not understood."""
        return self._wire.last_rejected

    @property
    def answer(self) -> Answer:
        """What stands at the end of the bytes fed so far."""
        return self._wire.answer

    def ask(self) -> bytes:
        """The next request, one channel after the other."""
        self._channel, request = self._requests[self._next]
        self._next = (self._next + 1) % len(self._requests)
        return request

    def feed(self, data: bytes) -> list[Heard]:
        """Take more bytes; what is heard belongs to the channel that was asked last."""
        heard = self._wire.feed(data)
        if not self._channel:
            return heard
        return [run._replace(channel=self._channel) for run in heard]

    def restart(self, *, torn: bool) -> None:
        """Forget a begun message. torn: what comes next may begin in the middle of one."""
        self._wire.restart(torn=torn)
