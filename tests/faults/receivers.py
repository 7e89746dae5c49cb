"""Receivers that fail, each in a way of its own, while a bench goes on writing.

`FAILING` has them by name. Each holds until `mend`; `is_whole` says whether everything that was
written has come to where it belongs since.
"""

import asyncio
import contextlib
import functools
import time
import uuid
from collections.abc import AsyncIterator, Awaitable, Callable, Iterator
from dataclasses import dataclass
from http import HTTPStatus
from pathlib import Path
from typing import Any

from api.events import source_of
from api.push.channel import Channel
from api.push.gaps import Gaps
from api.push.mqtt import Broker, Mqtt
from api.push.webhook import Webhook, key_of
from tests.api.collect.conftest import Shop
from tests.api.push.conftest import Bench, Receiver, until
from tests.faults.cutting import Cutting

KEY = key_of("whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw")
NAME = "bench-1"
GAPS = Gaps(0.05, 0.5, lambda: 1.0)
QUEUED_MOST = 10  # of a broker that drops what is above it


@dataclass
class World:
    """What a fault is made of. mosquitto, postgres: as the fixtures give them."""

    folder: Path
    mosquitto: Callable[..., Any]
    postgres: Any

    @contextlib.contextmanager
    def shop(self, *lines: str) -> Iterator[Shop]:
        """A bench, a broker with these lines, and a database to collect in."""
        broker = self.mosquitto("allow_anonymous true", *lines)
        broker.start()
        shop = Shop(self.folder, broker, self.postgres.database(f"c{uuid.uuid4().hex}"))
        with contextlib.closing(shop.bench(NAME).journal):
            yield shop


@dataclass
class Failing:
    """A receiver that fails now. bench: writes; channel: makes a way to the receiver.

    ends: it said that it wants nothing more, so telling begins anew once it is mended.
    """

    bench: Any
    channel: Callable[[], Channel]
    mend: Callable[[], Awaitable[None]]
    is_whole: Callable[[], bool]
    has_failed: Callable[[], bool] = lambda: True
    ends: bool = False


async def through(failing: Failing, write: Callable[[Any], Awaitable[None]]) -> None:
    """Let the bench write while its receiver fails; then everything arrives all the same.

    write: is given the senders, to tell them of what it wrote.
    """
    telling = functools.partial(failing.bench.telling, gaps=GAPS, bench=NAME)
    async with telling(failing.channel()) as pushing:
        await write(pushing)
        await until(failing.has_failed)
        await failing.mend()
        if not failing.ends:
            await until(failing.is_whole, seconds=300)
            return
    async with telling(failing.channel()):
        await until(failing.is_whole, seconds=300)


@contextlib.asynccontextmanager
async def broker_stopped(world: World) -> AsyncIterator[Failing]:
    """The broker is gone, and comes back; the collector asks for what it did not hear."""
    with world.shop() as shop:
        async with shop.asked(NAME) as asked, shop.collecting(asked):
            shop.broker.stop()

            async def mend() -> None:
                shop.broker.start()

            yield Failing(shop.bench(NAME), lambda: shop.channel(NAME), mend, _collected(shop))


@contextlib.asynccontextmanager
async def queue_full(world: World) -> AsyncIterator[Failing]:
    """The collector is away, and the broker keeps a few messages for it and drops the others."""
    with world.shop(f"max_queued_messages {QUEUED_MOST}") as shop:
        async with shop.asked(NAME) as asked, contextlib.AsyncExitStack() as again:
            async with shop.collecting(asked):
                pass  # it has a session now
            missed = []

            async def mend() -> None:
                await until(lambda: shop.untold(NAME) == 0)
                missed.append(await again.enter_async_context(shop.collecting(asked)))

            def is_whole() -> bool:
                # More than the broker kept was fetched from the bench itself: it dropped them.
                return _collected(shop)() and missed[0]._asking[0].fetched > QUEUED_MOST

            yield Failing(shop.bench(NAME), lambda: shop.channel(NAME), mend, is_whole)


@contextlib.asynccontextmanager
async def network_cut(world: World) -> AsyncIterator[Failing]:
    """Between bench and broker every connection is cut a moment after it was made."""
    with world.shop() as shop:
        async with (
            Cutting(shop.broker.port) as cutting,
            shop.asked(NAME) as asked,
            shop.collecting(asked),
        ):

            def channel() -> Channel:
                wall = "2026-11-25T00:00:00.000Z"
                there = Broker("127.0.0.1", cutting.port)
                return Mqtt(there, source_of(NAME), dict, lambda: wall, time.monotonic)

            async def mend() -> None:
                cutting.after_s = None

            yield Failing(
                shop.bench(NAME), channel, mend, _collected(shop), lambda: cutting.cuts >= 3
            )


def _collected(shop: Shop) -> Callable[[], bool]:
    """Asks for the number first: all of them are read only once they can be there."""
    count = f"SELECT count(*) FROM in_order WHERE source = '{source_of(NAME)}'"

    def is_whole() -> bool:
        counted = shop.rows(count)
        return (
            bool(counted)
            and counted[0][0] >= last(shop.bench(NAME))
            and shop.collected(NAME) == shop.written(NAME)
        )

    return is_whole


def answering(status: int, delay_s: float = 0.0, timeout_s: float = 5.0):
    """A webhook that answers this, after so long."""

    @contextlib.asynccontextmanager
    async def receiver(world: World) -> AsyncIterator[Failing]:
        bench = Bench(world.folder / NAME, prefix=NAME)
        hook = Receiver()
        hook.answer, hook.delay_s = (lambda event: status), delay_s
        server = await asyncio.start_server(hook.serve, "127.0.0.1", 0)
        url = f"http://127.0.0.1:{server.sockets[0].getsockname()[1]}/hook"

        async def mend() -> None:
            hook.answer, hook.delay_s = (lambda event: 204), 0.0
            if status == HTTPStatus.GONE:
                await until(lambda: off(bench) != "")
                with contextlib.closing(bench.outbox()) as outbox:
                    outbox.switch("erp", "")

        def is_whole() -> bool:
            if len(hook.taken) < last(bench):
                return False
            told = list(dict.fromkeys(event["id"] for event in hook.taken))
            return told == [event.entry.id for event in bench.journal.events(0, 10**6)]

        def channel() -> Channel:
            return Webhook("erp", url, [KEY], time.time, timeout_s)

        with contextlib.closing(bench.outbox()) as outbox:
            outbox.begin(["erp"])
        ends = status == HTTPStatus.GONE
        try:
            yield Failing(bench, channel, mend, is_whole, lambda: bool(hook.requests), ends)
        finally:
            server.close()
            await hook.close()
            bench.journal.close()

    return receiver


def last(bench: Any) -> int:
    """The last cursor, which is the number of entries."""
    return bench.journal.jobs(limit=1)[0].cursor


def off(bench: Any) -> str:
    with contextlib.closing(bench.outbox()) as outbox:
        return outbox.destination("erp").off


FAILING = {
    "the broker is stopped": broker_stopped,
    "the broker's queue is full": queue_full,
    "the network is cut": network_cut,
    "a webhook answers 500": answering(500),
    "a webhook answers 410": answering(410),
    "a webhook answers slowly": answering(204, delay_s=0.5),
    "a webhook never answers": answering(204, delay_s=3600.0, timeout_s=0.3),
}
