"""`Link`: the bytes of one port as a stream of chunks, for as long as somebody listens.

The port is opened when listening begins and closed when it ends. A port that goes away is taken
off at once, closed, and tried again with growing pauses until it is back.
"""

import asyncio
import os
from collections import deque
from collections.abc import AsyncGenerator, Callable
from concurrent.futures import ThreadPoolExecutor
from enum import StrEnum
from typing import NamedTuple

import serial

from drivers.link.opening import (
    PORT_ERRORS,
    PortSettings,
    Resolve,
    as_named,
    descriptor_of,
    lost_of,
    open_port,
    trouble_of,
)
from drivers.link.pumps import DescriptorPump, Pump, ThreadPump

QUEUE_BYTES_MAX = 1 << 20  # over ten minutes of a fast gauge; more means nobody listens
BACKOFF_FIRST_S = 0.05
BACKOFF_MAX_S = 1.0

# Opening and closing may block for seconds (a socket that does not answer, a driver that drains),
# so neither is done in the loop's thread.
_openers = ThreadPoolExecutor(max_workers=8, thread_name_prefix="benchtally-open")


class LinkState(StrEnum):
    """Whether bytes can come."""

    OPEN = "open"
    GONE = "gone"


class Start(StrEnum):
    """How a chunk joins on what came before."""

    GOES_ON = "goes on"
    TORN = "torn"  # bytes before it are missing; it may begin in the middle of a message
    OPENED = "opened"  # the first after opening: what came before is missing, see `quiet_s`


class Chunk(NamedTuple):
    """Bytes as they came.

    t_s: when they arrived, by the clock handed in. quiet_s: for OPENED, how long the open port
    was quiet before. TORN with empty data: the port has just gone away.
    """

    t_s: float
    data: bytes
    start: Start = Start.GOES_ON
    quiet_s: float = 0.0


class Link:
    """One port. For one listener at a time; not safe across threads.

    url: any pyserial URL, or a name that `resolve` turns into one at each opening. now: a steady
    clock in seconds (callable from any thread where the port has no descriptor).

    state, trouble: whether it is open, and a sentence when it is not. opened_t_s: when it was
    opened last. bytes_read, overflows, reconnects: counters that only grow; overflows counts
    chunks dropped because nobody took them.
    """

    def __init__(
        self,
        url: str,
        settings: PortSettings,
        now: Callable[[], float],
        resolve: Resolve = as_named,
    ) -> None:
        self.url = url
        self.state = LinkState.GONE
        self.trouble = f"{url} has not been opened yet."
        self.opened_t_s = 0.0
        self.bytes_read = 0
        self.overflows = 0
        self.reconnects = 0
        self._settings = settings
        self._now = now
        self._resolve = resolve
        self._port: serial.Serial | None = None
        self._pump: Pump | None = None
        self._chunks: deque[Chunk] = deque()
        self._queued_bytes = 0
        self._next_start = Start.OPENED
        self._lost = False
        self._closing = False
        self._wake: asyncio.Future[None] | None = None
        self._is_open = asyncio.Event()
        self._drained: list[tuple[int, asyncio.Future[bool]]] = []

    async def chunks(self) -> AsyncGenerator[Chunk, None]:
        """Listen until `stop` or until the caller stops; the caller closes the generator."""
        self._closing = False
        try:
            while not self._closing:
                await self._open()
                while not self._closing and (self._chunks or not self._lost):
                    if self._chunks:
                        chunk = self._chunks.popleft()
                        self._queued_bytes -= len(chunk.data)
                        yield chunk
                    else:
                        self._tell_drained()
                        await self._sleep(None)
                await self._close()
                self.reconnects += not self._closing
        finally:
            await self._close()
            self._tell_drained()

    async def write(self, data: bytes) -> bool:
        """Send bytes; False when they could not be sent."""
        port = self._port
        if port is None or self._lost:
            return False
        try:
            descriptor = descriptor_of(port)
            if descriptor is not None:
                return os.write(descriptor, data) == len(data)
            loop = asyncio.get_running_loop()
            sent = await loop.run_in_executor(_openers, port.write, data)
            return bool(sent == len(data))
        except PORT_ERRORS as error:
            if port is self._port:
                self._gone(error)
            return False

    async def opened(self) -> None:
        """Wait until the port is open; somebody has to be listening for that."""
        await self._is_open.wait()

    async def drained(self, bytes_read: int) -> bool:
        """Wait until so many bytes in all were read and the listener has dealt with them.

        Dealt with means: it came back for more. False as soon as the port is not open, because
        then they may never come.
        """
        if self.state is LinkState.GONE:
            return False
        if self.bytes_read >= bytes_read and not self._chunks and self._wake is not None:
            return True
        waiter: asyncio.Future[bool] = asyncio.get_running_loop().create_future()
        self._drained.append((bytes_read, waiter))
        return await waiter

    def stop(self) -> None:
        """End the listening: `chunks` closes the port and returns at its next turn."""
        self._closing = True
        self._wake_listener()

    async def _open(self) -> None:
        """Try until it is open or the link is being closed."""
        backoff_s = BACKOFF_FIRST_S
        while not self._closing:
            try:
                await self._open_once()
                return
            except PORT_ERRORS as error:
                self.trouble = trouble_of(self.url, error)
            await self._sleep(backoff_s)
            backoff_s = min(2 * backoff_s, BACKOFF_MAX_S)

    async def _open_once(self) -> None:
        loop = asyncio.get_running_loop()
        opening = loop.run_in_executor(
            _openers, lambda: open_port(self._resolve(self.url), self._settings)
        )
        try:
            port = await asyncio.shield(opening)
        except asyncio.CancelledError:
            opening.add_done_callback(_close_late)
            raise
        self._port = port
        self._lost = False
        self._next_start = Start.OPENED
        self.opened_t_s = self._now()
        descriptor = descriptor_of(port)
        self._pump = (
            ThreadPump(port, self._now, self._take, self._gone)
            if descriptor is None
            else DescriptorPump(descriptor, self._now, self._take, self._gone)
        )
        self.state = LinkState.OPEN
        self.trouble = ""
        self._is_open.set()

    async def _close(self) -> None:
        port, self._port = self._port, None
        self.state = LinkState.GONE
        self._is_open.clear()
        if self._pump is not None:
            self._pump.stop()
            self._pump = None
        if port is not None:
            closing = asyncio.get_running_loop().run_in_executor(_openers, _close_port, port)
            await asyncio.shield(closing)

    def _take(self, t_s: float, data: bytes) -> None:
        start, self._next_start = self._next_start, Start.GOES_ON
        quiet_s = t_s - self.opened_t_s if start is Start.OPENED else 0.0
        self.bytes_read += len(data)
        self._chunks.append(Chunk(t_s, data, start, quiet_s))
        self._queued_bytes += len(data)
        while self._queued_bytes > QUEUE_BYTES_MAX and len(self._chunks) > 1:
            self._queued_bytes -= len(self._chunks.popleft().data)
            self._chunks[0] = self._chunks[0]._replace(start=Start.TORN)
            self.overflows += 1
        self._wake_listener()

    def _gone(self, error: Exception | None) -> None:
        self._lost = True
        if self._pump is not None:
            # A gone port stays ready for ever and gives nothing: unless it is taken off here and
            # now, the loop spins on it.
            self._pump.stop()
        self.state = LinkState.GONE
        self._is_open.clear()
        self.trouble = lost_of(self.url, error)
        self._chunks.append(Chunk(self._now(), b"", Start.TORN))
        self._wake_listener()
        self._tell_drained()

    def _wake_listener(self) -> None:
        if self._wake is not None and not self._wake.done():
            self._wake.set_result(None)

    async def _sleep(self, seconds: float | None) -> None:
        """Wait to be woken, at most so long."""
        self._wake = asyncio.get_running_loop().create_future()
        try:
            if seconds is None:
                await self._wake
            else:
                await asyncio.wait((self._wake,), timeout=seconds)
        finally:
            self._wake = None

    def _tell_drained(self) -> None:
        """Answer those who wait for bytes to be dealt with; the listener is at rest here."""
        is_open = self.state is LinkState.OPEN
        waiting = [w for w in self._drained if is_open and self.bytes_read < w[0]]
        for entry in self._drained:
            if entry not in waiting and not entry[1].done():
                entry[1].set_result(is_open)
        self._drained = waiting


def _close_port(port: serial.Serial) -> None:
    try:
        port.close()
    except PORT_ERRORS:
        return  # the device is gone, and so is its descriptor


def _close_late(opening: "asyncio.Future[serial.Serial]") -> None:
    if not opening.cancelled() and opening.exception() is None:
        _openers.submit(_close_port, opening.result())
