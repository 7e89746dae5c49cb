"""What wires without a line end share: a window that slides over the bytes until a message fits.

A message is looked for at the first byte held; where none can begin, that byte is given up and the
next one tried. The decision at a place depends only on the bytes from there on, so it is the same
whatever the cut.
"""

from abc import ABC, abstractmethod

from drivers.wires.base import Answer, Heard
from drivers.wires.counting import Counting

NEED_MORE = 0
NOT_MINE = -1


class Sliding(Counting, ABC):
    """The bytes held back of a wire that keeps the contract of `drivers.wires.base.Wire`.

    sure: one message that fits proves where messages begin (it has a checksum, or a beginning
    that cannot stand inside). Without that, the first one after a tear only shows the place and
    is not believed.
    """

    def __init__(self, limit_bytes: int, *, sure: bool) -> None:
        super().__init__(limit_bytes)
        self._sure = sure
        self._held = b""

    @abstractmethod
    def _fit(self, data: bytes, at: int, heard: list[Heard]) -> int:
        """Try a message at `at`, adding to `heard` what it says.

        Returns the bytes it takes, NEED_MORE, or NOT_MINE. It must not need more once
        `limit_bytes` are there.
        """

    def _next(self, data: bytes, at: int) -> int:
        """The first place from `at` on where a message could begin, the end if there is none."""
        del data
        return at

    @property
    def answer(self) -> Answer:
        """What stands at the end of the bytes fed so far."""
        if self._held or self._torn:
            return Answer.NEED_MORE
        return Answer.NOT_MINE if self._rejecting else Answer.DONE

    def restart(self, *, torn: bool) -> None:
        """Forget a begun message. torn: what comes next may begin in the middle of one."""
        self.skipped_bytes += len(self._held)
        self._held = b""
        self._torn = torn
        self._rejecting = False

    def feed(self, data: bytes) -> list[Heard]:
        """Take more bytes; give what the messages they complete say, in order."""
        data = self._held + data
        heard: list[Heard] = []
        at = 0
        while at < len(data):
            fresh: list[Heard] = [] if self._torn and not self._sure else heard
            used = self._fit(data, at, fresh)
            if used == NEED_MORE:
                break
            if used == NOT_MINE:
                end = self._next(data, at + 1)
                self._lose(data[at:end])
                at = end
                continue
            if fresh is not heard:
                self.skipped_bytes += used
            self._torn = self._rejecting = False
            at += used
        self._held = data[at:]
        return heard
