"""What a broker hands on goes into the database, and what it lost is asked for.

Several collectors share the work by a shared subscription (MQTT 5, 4.8.2): the broker gives each
event to one of them. None of them is needed by the others, and none keeps anything to itself.
"""

import asyncio
import json
import random
import time
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import psycopg
import structlog

from api.collect.benches import Asked
from api.collect.catching_up import CatchingUp
from api.collect.event import Collected, EventError, event_in
from api.collect.store import Store
from api.ending import is_to_end
from api.push.gaps import Gaps
from api.push.mqtt import PREFIX, TIMEOUT_S, Broker, topic_part

if TYPE_CHECKING:
    import aiomqtt

SHARE = "collect"
EVENTS_TOPIC = f"$share/{SHARE}/{PREFIX}/+/job/+/measurement"
STATES_TOPIC = f"{PREFIX}/+/state"
BATCH = 500
QUEUE_MOST = 20_000
# How long the broker keeps a collector's share for it. Not longer: while one is away its share
# waits for it, and is asked for at the benches instead.
SESSION_S = 300
LOOK_S = 0.5
GAPS_S = (0.2, 30.0)

_log = structlog.get_logger(__name__)


class Collector:
    """One collector. name: the same each time it is started, so that the broker keeps for it what
    comes meanwhile. listening: it has subscribed; taken, refused: messages so far."""

    def __init__(
        self,
        url: str,
        broker: Broker,
        benches: Sequence[Asked],
        name: str,
        now_s: Callable[[], float] = time.monotonic,
    ) -> None:
        self.listening = False
        self.taken = 0
        self.refused = 0
        self._store = Store(url, [bench.source for bench in benches])
        self._broker = broker
        self._name = name
        self._gaps = Gaps(*GAPS_S, random.SystemRandom().random)
        self._asking = [CatchingUp(each, self._store, self._gaps, now_s) for each in benches]
        self._lock = asyncio.Lock()  # one connection, one transaction at a time

    async def run(self) -> None:
        """Collect until cancelled."""
        try:
            await asyncio.gather(self._for_ever(self._listen), self._for_ever(self._catch_up))
        finally:
            for asking in self._asking:
                await asking.close()
            await self._store.close()

    async def _for_ever(self, act: Callable[[], Any]) -> None:
        import aiomqtt

        tries = 0
        while not is_to_end():
            begun_s = time.monotonic()
            try:
                await self._with_store()
                await act()
            except (aiomqtt.MqttError, psycopg.Error, OSError, TimeoutError) as error:
                if is_to_end():
                    return
                tries = 1 if time.monotonic() - begun_s > GAPS_S[1] else tries + 1
                _log.warning("collecting is held up", why=str(error).strip(), tries=tries)
                await asyncio.sleep(self._gaps.after(tries))

    async def _with_store(self) -> None:
        async with self._lock:
            try:
                await self._store.reached()
            except psycopg.Error:
                await self._store.open()

    async def _catch_up(self) -> None:
        while True:
            async with self._lock:
                reached = await self._store.reached()
            for asking in self._asking:
                await asking.look(*reached.get(asking.bench.source, (0, 0)), self._lock)
            await asyncio.sleep(LOOK_S)

    async def _listen(self) -> None:
        import aiomqtt
        from paho.mqtt.packettypes import PacketTypes
        from paho.mqtt.properties import Properties

        lasting = Properties(PacketTypes.CONNECT)  # type: ignore[no-untyped-call]
        lasting.SessionExpiryInterval = SESSION_S
        async with aiomqtt.Client(
            self._broker.host,
            self._broker.port,
            username=self._broker.user,
            password=self._broker.password,
            tls_context=self._broker.tls,
            identifier=f"benchtally-collect-{self._name}",
            protocol=aiomqtt.ProtocolVersion.V5,
            clean_start=False,
            properties=lasting,
            timeout=TIMEOUT_S,
            max_queued_incoming_messages=QUEUE_MOST,
        ) as client:
            await client.subscribe(EVENTS_TOPIC, qos=1)
            await client.subscribe(STATES_TOPIC, qos=1)
            if is_to_end():
                return
            self.listening = True
            batch: list[Collected] = []
            async for message in client.messages:
                await self._take(message, batch)
                if batch and (len(client.messages) == 0 or len(batch) >= BATCH):
                    await self._put(batch)
                    batch.clear()

    async def _take(self, message: "aiomqtt.Message", batch: list[Collected]) -> None:
        topic = str(message.topic).split("/")
        payload = message.payload if isinstance(message.payload, bytes) else b""
        try:
            if topic[-1] == "state":
                said = _state_in(topic[2], payload)
                async with self._lock:
                    await self._store.state(*said)
            else:
                batch.append(_of_its_bench(topic[2], event_in(payload)))
        except EventError as error:
            self.refused += 1
            _log.warning("not an event", topic=str(message.topic)[:200], why=str(error))

    async def _put(self, batch: Sequence[Collected]) -> None:
        tries = 0
        while True:
            try:
                async with self._lock:
                    clashes = await self._store.put(batch)
                break
            except psycopg.OperationalError as error:
                # What was taken from the broker is not let go of because a database is away.
                tries += 1
                _log.warning("not kept, tried again", why=str(error).strip(), tries=tries)
                await asyncio.sleep(self._gaps.after(tries))
                await self._reopen()
        self.taken += len(batch)
        if clashes:
            _log.error(
                "a bench told other events under cursors that were told before: it was set back "
                "to an older state",
                events=clashes,
                benches=sorted({event.source for event in batch})[:10],
            )

    async def _reopen(self) -> None:
        async with self._lock:
            try:
                await self._store.open()
            except psycopg.Error as error:
                _log.warning("the database is away", why=str(error).strip())


def _of_its_bench(bench: str, event: Collected) -> Collected:
    """A bench speaks on its own topics only, and the broker can be told to hold it to them."""
    if topic_part(event.source.removeprefix("urn:x-bench:")) != bench:
        raise EventError("its source is not the bench of its topic")
    return event


def _state_in(bench: str, payload: bytes) -> tuple[str, str, int]:
    """Source, state and last cursor that a bench says of itself."""
    try:
        said = json.loads(payload)
        source, state = str(said["source"]), str(said["state"])
        cursor = int(said.get("cursor") or 0)
    except (ValueError, KeyError, TypeError, RecursionError, AttributeError):
        raise EventError("it is no state of a bench") from None
    sound = 0 <= cursor < 2**63 and len(source) < 500 and "\0" not in source + state
    if not sound or topic_part(source.removeprefix("urn:x-bench:")) != bench:
        raise EventError("it is no state of the bench of its topic")
    return source, state[:40], cursor
