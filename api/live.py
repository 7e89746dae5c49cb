"""What happens at the bench, told over WebSocket: progress at its own pace, every entry once.

Two kinds of messages. `progress` is a look at the bench and its gauges; only the latest is sent,
so a slow client sees fewer and slows nobody. `entry` is something that was written, sent after it
was on the disk; a client too slow for these is cut off with a reason and catches up by /events.
"""

import asyncio
import contextlib
import json
import math
from collections import deque
from collections.abc import Iterator
from typing import Any

from starlette.websockets import WebSocket, WebSocketDisconnect, WebSocketState

from api.frames import decimals_of, progress_shown, value_shown
from api.rest.answers import shown
from api.service import Service
from daq.bench import BenchProgress
from daq.head.kept import measurement_of
from daq.head.record import Entry, EntryKind
from drivers.gauge import Gauge

FRAME_S = 1 / 30  # what changes without a reading is told this often
READING_S = 1 / 60  # a reading is told as soon as a screen can show it
HEARTBEAT_S = 0.2  # the page calls the number dead after half a second of nothing
ENTRIES_QUEUED_MAX = 256  # a whole small job; a client that far behind had better ask /events
TRACE_POINTS_MAX = 900  # fifteen seconds of frames, for a client that has just come
CLOSE_S = 1.0
TRY_AGAIN_LATER = 1013  # RFC 6455 registry of close codes

_TOO_SLOW = "too slow for what is being kept: ask /api/v1/events for what you missed"


class _Client:
    """One WebSocket: the entries it has to get, and the newest frame it has not got."""

    def __init__(self) -> None:
        self.entries: deque[str] = deque()
        self.frame: str | None = None
        self.wake = asyncio.Event()
        self.overflow = asyncio.Event()

    def put_entry(self, text: str) -> None:
        """Queue an entry, or give the client up."""
        if len(self.entries) >= ENTRIES_QUEUED_MAX:
            self.overflow.set()
            return
        self.entries.append(text)
        self.wake.set()

    def put_frame(self, text: str) -> None:
        """Replace the frame."""
        self.frame = text
        self.wake.set()

    async def send_to(self, socket: WebSocket) -> None:
        """Send for ever: entries first, in order, then the newest frame."""
        while True:
            await self.wake.wait()
            self.wake.clear()
            while self.entries:
                await socket.send_text(self.entries.popleft())
            frame, self.frame = self.frame, None
            if frame is not None:
                await socket.send_text(frame)


class Live:
    """All clients of one bench. Frames are made once for all, and only while anybody looks."""

    def __init__(self, service: Service) -> None:
        self._service = service
        self._clients: set[_Client] = set()
        self._points: dict[str, deque[tuple[float, float]]] = {}
        self._new: dict[str, list[tuple[float, float]]] = {}
        self._frame_number = 0

    def tell(self, entry: Entry) -> None:
        """Tell every client of an entry; called by the run after the fsync."""
        if not self._clients:
            return
        message: dict[str, Any] = {"type": "entry", "entry": shown(entry).model_dump(mode="json")}
        if entry.kind is EntryKind.KEPT:
            message["measurement"] = measurement_of(entry).model_dump(mode="json")
        text = _text(message)
        for client in self._clients:
            client.put_entry(text)

    async def pulse(self) -> None:
        """Make frames until cancelled."""
        loop = asyncio.get_running_loop()
        before, sent_s, due_s = "", 0.0, 0.0
        while True:
            await asyncio.sleep(READING_S)
            now_s = loop.time()
            if not self._clients or (not self._sample() and now_s < due_s):
                continue
            due_s = now_s + FRAME_S
            look = self._look()
            text = _text(look)
            if text == before and now_s - sent_s < HEARTBEAT_S:
                continue
            before, sent_s = text, now_s
            frame = self._framed(look, self._new)
            self._new = {}
            for client in self._clients:
                client.put_frame(frame)

    async def serve(self, socket: WebSocket) -> None:
        """One client, from its coming to its going."""
        await socket.accept()
        with self._client() as client:
            client.put_frame(
                self._framed(
                    self._look(), {name: list(past) for name, past in self._points.items()}
                )
            )
            sending = asyncio.create_task(client.send_to(socket))
            leaving = asyncio.create_task(_until_gone(socket))
            giving_up = asyncio.create_task(client.overflow.wait())
            tasks = (sending, leaving, giving_up)
            try:
                await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
            finally:
                for task in tasks:
                    task.cancel()
                await asyncio.gather(*tasks, return_exceptions=True)
        if client.overflow.is_set() and socket.application_state is WebSocketState.CONNECTED:
            with contextlib.suppress(Exception):
                await asyncio.wait_for(socket.close(TRY_AGAIN_LATER, _TOO_SLOW), CLOSE_S)

    @contextlib.contextmanager
    def _client(self) -> Iterator[_Client]:
        client = _Client()
        self._clients.add(client)
        try:
            yield client
        finally:
            self._clients.discard(client)

    def _look(self) -> dict[str, Any]:
        run = self._service.run
        progress = run.progress()
        return {
            "type": "progress",
            "bench": progress_shown(progress),
            "running": self._service.is_running,
            "trouble": run.trouble,
            "gauges": [self._gauge(gauge, progress) for gauge in run.gauges],
        }

    def _gauge(self, gauge: Gauge, progress: BenchProgress) -> dict[str, Any]:
        last = gauge.last
        instrument = self._service.instruments[gauge.spec.name]
        return {
            "name": gauge.spec.name,
            "state": gauge.state.value,
            "trouble": gauge.trouble,
            "note": gauge.note,
            "value": None if last is None else value_shown(last, instrument),
            "unit": None if last is None else last.unit.value,
            "decimals": decimals_of(instrument),
            "said": None if last is None else last.state.value,
            "t_s": None if last is None else last.t_s,
            "needed": progress.needs(instrument),
        }

    def _sample(self) -> bool:
        """Take the newest reading of each gauge for the picture; whether any was new."""
        fresh = False
        for gauge in self._service.run.gauges:
            last = gauge.last
            if last is None or not math.isfinite(last.value):
                continue
            past = self._points.setdefault(gauge.spec.name, deque(maxlen=TRACE_POINTS_MAX))
            if not past or past[-1][0] < last.t_s:
                past.append((last.t_s, last.value))
                self._new.setdefault(gauge.spec.name, []).append(past[-1])
                fresh = True
        return fresh

    def _framed(self, look: dict[str, Any], points: dict[str, list[tuple[float, float]]]) -> str:
        self._frame_number += 1
        return _text({**look, "frame": self._frame_number, "trace": points})


async def _until_gone(socket: WebSocket) -> None:
    """Clients have nothing to say here; listening is how their going is noticed."""
    with contextlib.suppress(WebSocketDisconnect, RuntimeError):
        while (await socket.receive())["type"] != "websocket.disconnect":
            pass


def _text(message: dict[str, Any]) -> str:
    return json.dumps(message, separators=(",", ":"), ensure_ascii=False)
