"""An open port and everything that came on it, kept for a while."""

import asyncio
from collections.abc import Callable, Iterable
from contextlib import aclosing, suppress
from itertools import pairwise
from statistics import median
from types import TracebackType
from typing import Self

from drivers.find.adapters import resolve
from drivers.find.placing.split import Sound
from drivers.link import Chunk, Link, LinkState, PortSettings

HEARD_BYTES_MAX = 16 * 1024  # more tells nothing new; what comes after it is not kept
QUIET_S = 0.1  # so long a silence before the first byte, and nothing was cut off there
PAUSE_S_MIN = 0.004
PAUSE_SHARE = 0.5  # of the usual time between two chunks: longer is a pause between messages


class Ear:
    """One port, open as long as the context lasts.

    chunks: what came, in order. Each `wait_*` ends early when the port goes away.
    """

    def __init__(self, port: str, settings: PortSettings, now: Callable[[], float]) -> None:
        self.chunks: list[Chunk] = []
        self._bytes = 0
        self._now = now
        self._link = Link(port, settings, now, resolve)
        self._came = asyncio.Event()
        self._task: asyncio.Task[None] | None = None

    async def __aenter__(self) -> Self:
        self._task = asyncio.create_task(self._keep())
        return self

    async def __aexit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._link.stop()
        if self._task is not None:
            with suppress(asyncio.CancelledError):
                await self._task

    @property
    def trouble(self) -> str:
        """Why nothing can come, "" when the port is open."""
        return self._link.trouble if self._link.state is LinkState.GONE else ""

    async def opened(self, seconds: float) -> bool:
        """Wait until the port is open, at most so long."""
        with suppress(TimeoutError):
            async with asyncio.timeout(seconds):
                await self._link.opened()
        return not self.trouble

    async def send(self, data: bytes) -> None:
        """Send a request."""
        await self._link.write(data)

    async def wait_for_more(self, seconds: float) -> bool:
        """Wait until something comes, at most so long; whether it did."""
        self._came.clear()
        with suppress(TimeoutError):
            async with asyncio.timeout(seconds):
                await self._came.wait()
        return self._came.is_set()

    def sound(self, since: int = 0, asked: bytes = b"") -> Sound:
        """What came from the chunk number `since` on; asked: what was sent to get it."""
        chunks = self.chunks[since:]
        data = b"".join(chunk.data for chunk in chunks)
        whole = bool(chunks) and self._quiet_before_s(since) >= QUIET_S
        if len(asked) > 1 and asked in data:  # the gauge repeats what it is asked
            return Sound(data.replace(asked, b""), (), whole, asked)
        return Sound(data, tuple(_starts(chunks)), whole, asked)

    async def quiet(self, seconds: float) -> None:
        """Wait until nothing came for so long as cuts nothing off, at most so many seconds."""
        end_s = self._now() + seconds
        while self._now() < end_s and await self.wait_for_more(QUIET_S):
            continue

    def _quiet_before_s(self, number: int) -> float:
        """The silence before a chunk."""
        first = self.chunks[number]
        return first.t_s - self.chunks[number - 1].t_s if number else first.quiet_s

    async def _keep(self) -> None:
        async with aclosing(self._link.chunks()) as chunks:
            async for chunk in chunks:
                if chunk.data and self._bytes < HEARD_BYTES_MAX:
                    self.chunks.append(chunk)
                    self._bytes += len(chunk.data)
                self._came.set()


def _starts(chunks: list[Chunk]) -> Iterable[int]:
    """Where bytes come after a pause, as places in all bytes."""
    gaps = [b.t_s - a.t_s for a, b in pairwise(chunks)]
    pause_s = max(PAUSE_S_MIN, PAUSE_SHARE * median(gaps)) if gaps else PAUSE_S_MIN
    at = 0
    for index, chunk in enumerate(chunks):
        if index == 0 or gaps[index - 1] >= pause_s:
            yield at
        at += len(chunk.data)
