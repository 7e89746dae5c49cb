"""One sender a receiver: tells it every entry, in order for each job, until it was taken.

A receiver that is down is tried again after growing gaps, with the event that it did not take. An
event that it refuses holds up its own job only; the others go on, up to a limit.
"""

import asyncio
import contextlib
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TypeVar

import structlog

from api.ending import is_to_end
from api.events import event_of
from api.push.channel import Channel, Outcome
from api.push.gaps import Gaps
from daq.records.errors import RecordError
from daq.records.feed import Event
from daq.records.outbox import Outbox

T = TypeVar("T")

PAGE = 100
IDLE_S = 2.0
# Told ahead of an event that is refused; from there on the receiver waits as a whole.
AHEAD_MOST = 10_000

_log = structlog.get_logger(__name__)


@dataclass(slots=True)
class _Held:
    """The events of a job that wait behind one that was refused."""

    events: deque[Event] = field(default_factory=deque)
    tries: int = 0
    not_before_s: float = 0.0
    why: str = ""


class Sender:
    """Tells one receiver. now_s: a steady clock. sent: how many events it took."""

    def __init__(
        self, channel: Channel, outbox: Outbox, bench: str, gaps: Gaps, now_s: Callable[[], float]
    ) -> None:
        self.name = channel.name
        self.sent = 0
        self._trouble = ""
        self._channel = channel
        self._outbox = outbox
        self._bench = bench
        self._gaps = gaps
        self._now_s = now_s
        self._wake = asyncio.Event()
        self._held: dict[str, _Held] = {}
        self._read = 0  # everything up to here was told, or is held
        self._saved = 0
        self._tries = 0

    @property
    def trouble(self) -> str:
        """What is wrong now, with the receiver or with an event that it refused; or ""."""
        return self._trouble or next((held.why for held in self._held.values()), "")

    def wake(self) -> None:
        """Something was written."""
        self._wake.set()

    async def run(self) -> None:
        """Tell until cancelled, or until the receiver wants nothing more."""
        try:
            if not await self._begin():
                return
            while not is_to_end() and await self._pass_safely():
                pass
        finally:
            with contextlib.suppress(Exception):
                await self._save()
            await self._channel.close()

    async def _begin(self) -> bool:
        while True:
            try:
                destination = await self._ask(lambda outbox: outbox.destination(self.name))
            except RecordError as error:
                self._trouble = str(error)
                await self._wait(IDLE_S)
                continue
            self._read = self._saved = destination.cursor
            self._trouble = destination.off
            return not destination.off

    async def _pass_safely(self) -> bool:
        try:
            return await self._pass()
        except Exception as error:  # noqa: BLE001 - a fault of ours must not end the telling
            self._trouble = f"{self.name}: a fault of the program, tried again ({error!r})"
            _log.exception("a sender failed", to=self.name)
            await self._wait(self._gap(), wakes=False)
            return True

    async def _pass(self) -> bool:
        """Tell what there is to tell, then wait for more. False: it wants nothing more."""
        self._wake.clear()
        try:
            page = await self._page()
            outcome = await self._tell_held()
            for event in page if outcome is Outcome.DONE else ():
                outcome = await self._tell(event)
                if outcome is not Outcome.DONE or is_to_end():
                    break
            await self._save()
        except RecordError as error:  # the database is away, or an entry was altered
            self._trouble = str(error)
            await self._wait(self._gap())
            return True
        if outcome is Outcome.GONE:
            return False
        if outcome is Outcome.DOWN:
            await self._wait(self._gap(), wakes=False)
        elif not page:
            await self._wait(IDLE_S)
            await self._idle()
        return True

    async def _page(self) -> list[Event]:
        if self._read - self._told() >= AHEAD_MOST:
            return []
        after = self._read
        return await self._ask(lambda outbox: outbox.events(after, PAGE))

    async def _tell(self, event: Event) -> Outcome:
        """Tell a fresh entry, or hold it behind one of its job that was refused."""
        job = event.entry.job
        held = self._held.get(job)
        if held is not None:
            held.events.append(event)
            self._read = event.cursor
            return Outcome.DONE
        outcome = await self._try(event)
        if outcome is Outcome.REFUSED:
            self._put_off(self._held[job])
            outcome = Outcome.DONE
        if outcome is Outcome.DONE:
            self._read = event.cursor
        return outcome

    async def _tell_held(self) -> Outcome:
        for job, held in list(self._held.items()):
            while held.events and held.not_before_s <= self._now_s():
                outcome = await self._try(held.events[0])
                if outcome is Outcome.REFUSED:
                    self._put_off(held)
                elif outcome is Outcome.DONE:
                    held.events.popleft()
                    held.tries = 0
                else:
                    return outcome
            if not held.events:
                del self._held[job]
        return Outcome.DONE

    def _put_off(self, held: _Held) -> None:
        held.tries += 1
        held.not_before_s = self._now_s() + self._gaps.after(held.tries)

    async def _try(self, event: Event) -> Outcome:
        told = await self._channel.send(event_of(event, self._bench))
        if told.outcome is Outcome.DONE:
            self.sent += 1
            self._tries = 0
            self._trouble = ""
            return Outcome.DONE
        if told.why != self.trouble:
            _log.warning("not told", to=self.name, why=told.why, entry=event.entry.id)
        if told.outcome is Outcome.GONE:
            # Kept before it is said: stopped in between, the receiver would be asked once more.
            await self._ask(lambda outbox: outbox.switch(self.name, told.why))
        if told.outcome is Outcome.REFUSED:
            self._held.setdefault(event.entry.job, _Held(deque([event]))).why = told.why
        else:
            self._trouble = told.why
        return told.outcome

    def _gap(self) -> float:
        self._tries += 1
        return self._gaps.after(self._tries)

    def _told(self) -> int:
        """Up to where everything was told."""
        return min([self._read, *(held.events[0].cursor - 1 for held in self._held.values())])

    async def _save(self) -> None:
        told = self._told()
        if told != self._saved:
            await self._ask(lambda outbox: outbox.told(self.name, told))
            self._saved = told

    async def _idle(self) -> None:
        self._trouble = await self._channel.idle(self._read)

    async def _wait(self, seconds: float, *, wakes: bool = True) -> None:
        if not wakes:
            await asyncio.sleep(seconds)
            return
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(seconds):
                await self._wake.wait()

    async def _ask(self, question: Callable[[Outbox], T]) -> T:
        return await asyncio.to_thread(question, self._outbox)
