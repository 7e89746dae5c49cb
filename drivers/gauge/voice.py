"""`Voice`: one port heard, for one gauge or for several on the channels of a box."""

import asyncio
import re
from collections.abc import AsyncGenerator, Callable
from contextlib import aclosing, suppress
from math import isinf
from typing import NamedTuple

from drivers.gauge.asking import Asking
from drivers.link import PORT_ERRORS, Chunk, Keys, Link, LinkState, PortSettings, Resolve, Start
from drivers.profile import Profile
from drivers.wires.base import Answer, Heard, Wire
from drivers.wires.registry import WIRES

QUIET_S = 0.25  # no gauge pauses so long inside a message: what follows begins a new one
# Chunks waiting for one gauge of a box while another is served; then the port waits, its link
# drops the oldest bytes and says so.
QUEUE_CHUNKS_MAX = 256
LONGEST_WAIT_S = 1.0
# How often a port that is known by its adapter's name is looked for while it is open: whoever
# resolves the name then sees a second adapter that looks alike before the first one is pulled.
LOOK_AGAIN_S = 2.0
_IN_ANY_SOCKET = re.compile(r"usb:[^@]*", re.IGNORECASE)


class Utterance(NamedTuple):
    """A chunk of bytes and what was understood of it."""

    chunk: Chunk
    heard: list[Heard]
    commit: bool = False  # it answers a request on demand


class Voice:
    """Link, wire and profile of one port. Not safe across threads.

    now: a steady clock in seconds. resolve: turns the configured port into what can be opened.
    """

    def __init__(
        self, port: str, profile: Profile, now: Callable[[], float], resolve: Resolve
    ) -> None:
        self.profile = profile
        self.wire: Wire = WIRES[profile.wire].described(profile.model_dump())
        self.link: Link | Keys = (
            Keys(now)
            if profile.wire == "typed"
            else Link(port, PortSettings(**profile.serial.model_dump()), now, resolve)
        )
        self.asking = _asking_of(profile)
        self.gauges = 0  # how many share it
        self._now = now
        self._resolve = resolve
        self._heard_t_s = 0.0
        self._queues: list[asyncio.Queue[Utterance | None]] = []
        self._spreading: asyncio.Task[None] | None = None
        self._poked = asyncio.Event()
        self._answered = asyncio.Event()

    async def said(self) -> AsyncGenerator[Utterance, None]:
        """Everything that is said from now on; every gauge that shares the port hears all."""
        if self.gauges < 2:
            async with aclosing(self._said()) as said:
                async for utterance in said:
                    yield utterance
            return
        queue: asyncio.Queue[Utterance | None] = asyncio.Queue(QUEUE_CHUNKS_MAX)
        self._queues.append(queue)
        if self._spreading is None:
            self._spreading = asyncio.create_task(self._spread())
        try:
            while (each := await queue.get()) is not None:
                yield each
        finally:
            self._queues.remove(queue)
            while not queue.empty():  # else the spreading waits for room for ever
                queue.get_nowait()
            if not self._queues:
                spreading, self._spreading = self._spreading, None
                spreading.cancel()
                with suppress(asyncio.CancelledError):
                    await spreading

    async def ask_now(self) -> bool:
        """Ask once, on demand; False when no answer came. Raises TypeError where nothing is asked.

        The answer comes out of `said` like everything else, marked as a commit.
        """
        if self.asking is None:
            raise TypeError(f"profile {self.profile.name} has nothing to ask with")
        self._answered.clear()
        self.asking.want()
        self._poked.set()
        with suppress(TimeoutError):
            async with asyncio.timeout(self.asking.longest_s):
                await self._answered.wait()
        return self.asking.give_up()

    def silence(self, quiet_s: float) -> str:
        """What to say of a gauge that gave no reading for so long."""
        asking = self.asking
        if asking is not None and asking.unasked > asking.unanswered and not asking.in_step:
            return (
                "sends more than it is asked for, so no answer can be told from the next. If it "
                'speaks by itself, describe it with another wire than "ask".'
            )
        if asking is not None and asking.unanswered:
            return (
                f"has not answered for {quiet_s:.0f} s. Is it switched on? If it is slow, give it "
                f"more time: timeout_s in profile {self.profile.name}."
            )
        return f"has said nothing for {quiet_s:.0f} s. Is it switched on, and sending?"

    def hear(self, chunk: Chunk) -> Utterance:
        """Understand a chunk; what answers no open request of an asked gauge is left out."""
        if chunk.start is not Start.GOES_ON:
            torn = chunk.start is not Start.OPENED or chunk.quiet_s < QUIET_S
            self.wire.restart(torn=torn)
        elif self.wire.answer is Answer.NEED_MORE and chunk.t_s - self._heard_t_s > QUIET_S:
            # The message that had begun has lost its end, or this is its end and very late. Joined
            # on it, or read alone, it could be a number that nobody said.
            self.wire.restart(torn=True)
        self._heard_t_s = chunk.t_s
        heard = self.wire.feed(chunk.data)
        asking = self.asking
        if asking is None:
            return Utterance(chunk, heard)
        commit = asking.wanted
        heard = _first(heard, asking.heard(chunk.t_s, sum(len(run.numbers) for run in heard)))
        self._poked.set()
        return Utterance(chunk, heard, commit)

    async def _said(self) -> AsyncGenerator[Utterance, None]:
        beside = []
        if self.asking:
            beside.append(asyncio.create_task(self._ask_away(self.asking)))
        if _IN_ANY_SOCKET.fullmatch(self.link.url):
            beside.append(asyncio.create_task(self._look_again()))
        try:
            async with aclosing(self.link.chunks()) as chunks:
                async for chunk in chunks:
                    yield self.hear(chunk)
        finally:
            for task in beside:
                task.cancel()

    async def _look_again(self) -> None:
        loop = asyncio.get_running_loop()
        while True:
            await asyncio.sleep(LOOK_AGAIN_S)
            with suppress(*PORT_ERRORS):
                await loop.run_in_executor(None, self._resolve, self.link.url)

    async def _spread(self) -> None:
        async with aclosing(self._said()) as said:
            async for utterance in said:
                for queue in tuple(self._queues):
                    await queue.put(utterance)
        for queue in tuple(self._queues):
            await queue.put(None)

    async def _ask_away(self, asking: Asking) -> None:
        opened_t_s = -1.0
        while True:
            await self.link.opened()
            if self.link.opened_t_s != opened_t_s:
                opened_t_s = self.link.opened_t_s
                asking.restart(opened_t_s)
            self._poked.clear()
            wait_s = asking.wait_s(self._now())
            if not asking.wanted:
                self._answered.set()
            if wait_s == 0:
                await self._ask(asking)
                continue
            with suppress(TimeoutError):
                async with asyncio.timeout(None if isinf(wait_s) else min(wait_s, LONGEST_WAIT_S)):
                    await self._poked.wait()

    async def _ask(self, asking: Asking) -> None:
        if self.wire.answer is Answer.NEED_MORE:
            # The rest of an answer that lost its end would join on the next one.
            self.wire.restart(torn=False)
        request = self.wire.ask()
        asking.asked(self._now())
        if not await self.link.write(request) and self.link.state is LinkState.OPEN:
            await asyncio.sleep(QUIET_S)


def _asking_of(profile: Profile) -> Asking | None:
    asked = profile.asked
    if asked is None:
        return None
    period_s = None if asked.on_demand else asked.period_s
    return Asking(period_s, asked.timeout_s, profile.answers)


def _first(heard: list[Heard], count: int) -> list[Heard]:
    """The first so many readings of what was heard."""
    taken: list[Heard] = []
    for run in heard:
        if count <= 0:
            break
        taken.append(run._replace(numbers=run.numbers[:count]))
        count -= len(run.numbers)
    return taken
