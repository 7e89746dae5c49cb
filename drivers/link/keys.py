"""`Keys`: what a gauge types, handed in as text by whoever catches the keys (the page).

It has the face of a `Link`, so that a typed gauge is heard like any other. There is nothing to open
and nothing to write to.
"""

import asyncio
from collections.abc import AsyncGenerator, Callable
from math import inf

from drivers.link.link import Chunk, LinkState, Start

CHUNKS_MAX = 256  # numbers typed that nobody took yet; more mean that nobody will


class Keys:
    """now: a steady clock in seconds. The attributes mean what they mean in `Link`."""

    def __init__(self, now: Callable[[], float]) -> None:
        self.url = "keys:"
        self.state = LinkState.GONE
        self.trouble = "The keys are not listened to yet."
        self.opened_t_s = 0.0
        self.bytes_read = 0
        self.overflows = 0
        self.reconnects = 0
        self._now = now
        self._chunks: asyncio.Queue[Chunk | None] = asyncio.Queue(CHUNKS_MAX)
        self._start = Start.OPENED
        self._closing = False
        self._is_open = asyncio.Event()

    def type(self, text: str) -> bool:
        """Take what was typed, line ends included; False when nobody takes it.

        Characters that no gauge types become `?`, so that they are seen to be wrong.
        """
        if self.state is LinkState.GONE or self._chunks.full():
            self.overflows += 1
            return False
        data = text.encode("latin-1", "replace")
        self.bytes_read += len(data)
        self._chunks.put_nowait(Chunk(self._now(), data, self._start, inf))
        self._start = Start.GOES_ON
        return True

    async def chunks(self) -> AsyncGenerator[Chunk, None]:
        """Listen until `stop` or until the caller stops."""
        self.state, self.trouble = LinkState.OPEN, ""
        self.opened_t_s = self._now()
        self._start = Start.OPENED
        self._closing = False
        self._is_open.set()
        try:
            while not self._closing and (chunk := await self._chunks.get()) is not None:
                yield chunk
                self._chunks.task_done()
        finally:
            self.state, self.trouble = LinkState.GONE, "The keys are not listened to any more."
            self._is_open.clear()

    async def write(self, data: bytes) -> bool:
        """Nothing can be sent to a keyboard."""
        del data
        return False

    async def opened(self) -> None:
        """Wait until somebody listens."""
        await self._is_open.wait()

    async def drained(self, bytes_read: int) -> bool:
        """Wait until so much was typed and the listener has dealt with it."""
        if self.state is LinkState.GONE or self.bytes_read < bytes_read:
            return False
        await self._chunks.join()
        return True

    def stop(self) -> None:
        """End the listening at its next turn."""
        self._closing = True
        if self._chunks.empty():
            self._chunks.put_nowait(None)
