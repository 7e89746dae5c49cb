"""Move bytes from an open port into the event loop, through its descriptor or through a thread.

Both pumps call back in the loop's thread: `take(t_s, data)` for bytes with the time they arrived,
`lost(error)` when the port is gone, and whoever is told stops the pump there and then. After `stop`
neither is called any more.
"""

import asyncio
import os
import threading
from collections.abc import Callable
from contextlib import suppress
from typing import Protocol

import serial

from drivers.link.opening import PORT_ERRORS

READ_BYTES_MAX = 65536  # one read; a fat chunk is parsed far faster than many thin ones
# pyserial reads from None when the port is closed under a reading thread.
_READ_ERRORS: tuple[type[Exception], ...] = (*PORT_ERRORS, TypeError, AttributeError)

Take = Callable[[float, bytes], None]
Lost = Callable[[Exception | None], None]


class Pump(Protocol):
    """Started when built; stopped once."""

    def stop(self) -> None:
        """Take the port off; may be called from any thread, more than once."""
        ...


class DescriptorPump:
    """The loop watches the descriptor; no thread, no polling."""

    def __init__(self, descriptor: int, now: Callable[[], float], take: Take, lost: Lost) -> None:
        self._descriptor = descriptor
        self._now = now
        self._take = take
        self._lost = lost
        self._loop = asyncio.get_running_loop()
        self._watching = True
        self._loop.add_reader(descriptor, self._ready)

    def _ready(self) -> None:
        try:
            data = os.read(self._descriptor, READ_BYTES_MAX)
        except (BlockingIOError, InterruptedError):
            return
        except OSError as error:
            self._lost(error)
            return
        if data:
            self._take(self._now(), data)
        else:
            self._lost(None)

    def stop(self) -> None:
        """Take the descriptor off the loop (in the loop's thread only)."""
        if self._watching:
            self._watching = False
            self._loop.remove_reader(self._descriptor)


class ThreadPump:
    """A thread reads, for ports without a descriptor and for systems that cannot watch one."""

    def __init__(
        self, port: serial.Serial, now: Callable[[], float], take: Take, lost: Lost
    ) -> None:
        self._port = port
        self._now = now
        self._take = take
        self._lost = lost
        self._loop = asyncio.get_running_loop()
        self._stopped = threading.Event()
        self._thread = threading.Thread(target=self._read, name="benchtally-port", daemon=True)
        self._thread.start()

    def _read(self) -> None:
        while not self._stopped.is_set():
            try:
                data = self._port.read(1)
                if data and (waiting := self._port.in_waiting):
                    data += self._port.read(min(waiting, READ_BYTES_MAX))
            except _READ_ERRORS as error:
                self._call(self._lost, error)
                return
            if data:
                self._call(self._take, self._now(), bytes(data))

    def _call(self, what: Callable[..., None], *arguments: object) -> None:
        with suppress(RuntimeError):  # the loop is closed: nobody is left to tell
            self._loop.call_soon_threadsafe(self._if_running, what, arguments)

    def _if_running(self, what: Callable[..., None], arguments: tuple[object, ...]) -> None:
        if not self._stopped.is_set():
            what(*arguments)

    def stop(self) -> None:
        """Let the thread end; it does so within READ_WAIT_S."""
        self._stopped.set()
