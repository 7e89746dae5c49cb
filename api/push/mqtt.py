"""MQTT 5: events to a broker with quality of service 1, and retained states of bench and gauges.

One connection a bench; it begins with a will, so that the broker itself says when a bench is
gone. Nothing comes in: the bench subscribes to nothing.
"""

import asyncio
import contextlib
import re
import socket
import ssl
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from api.push.channel import DONE, MEDIA_TYPE, Outcome, Told, as_json

if TYPE_CHECKING:
    import aiomqtt

TIMEOUT_S = 3.0
KEEPALIVE_S = 15
PREFIX = "bench/v1"
# How often the state is said again although nothing changed.
HEARTBEAT_S = 15.0


@dataclass(frozen=True, slots=True)
class Broker:
    """Where the broker is, and as whom we come. tls: None for an open connection."""

    host: str
    port: int
    user: str | None = None
    password: str | None = None
    tls: ssl.SSLContext | None = None
    expiry_s: int = 7 * 24 * 3600


def topic_part(text: str) -> str:
    """`text` as one level of a topic: without what separates levels or stands for many."""
    return re.sub(r"[+#/\x00-\x1f\x7f]", "-", text) or "-"


class Mqtt:
    """A broker as a receiver.

    source: the bench as its events name it. states: how each gauge stands, by serial number.
    wall: the time as RFC 3339. now_s: a steady clock.
    """

    def __init__(
        self,
        broker: Broker,
        source: str,
        states: Callable[[], Mapping[str, str]],
        wall: Callable[[], str],
        now_s: Callable[[], float],
    ) -> None:
        self.name = "mqtt"
        self._broker = broker
        self._source = source
        self._bench = topic_part(source.removeprefix("urn:x-bench:"))
        self._states = states
        self._wall = wall
        self._now_s = now_s
        self._client: aiomqtt.Client | None = None
        self._told_states: dict[str, str] = {}
        self._said_s = 0.0

    async def send(self, event: Mapping[str, Any]) -> Told:
        """See Channel."""
        job = str(event["data"]["job"])
        topic = f"{PREFIX}/{self._bench}/job/{topic_part(job)}/measurement"
        return await self._with_client(lambda client: self._publish_event(client, topic, event))

    async def idle(self, cursor: int) -> str:
        """Say the states that changed, and once in a while that the bench is there."""
        told = await self._with_client(lambda client: self._publish_states(client, cursor))
        return told.why

    async def close(self) -> None:
        """Say that the bench was stopped, so that its will is not needed."""
        client, self._client = self._client, None
        if client is not None:
            with contextlib.suppress(Exception):
                await self._publish_state(client, "stopped", None)
            with contextlib.suppress(Exception):
                await client.__aexit__(None, None, None)

    async def _with_client(self, act: Callable[["aiomqtt.Client"], Any]) -> Told:
        import aiomqtt

        try:
            await act(await self._connected())
        except (aiomqtt.MqttError, OSError, TimeoutError) as error:
            await self._drop()
            where = f"{self._broker.host}:{self._broker.port}"
            return Told(Outcome.DOWN, f"the broker {where} takes nothing ({error})")
        return DONE

    async def _connected(self) -> "aiomqtt.Client":
        if self._client is not None:
            return self._client
        import aiomqtt

        broker = self._broker
        client = aiomqtt.Client(
            broker.host,
            broker.port,
            username=broker.user,
            password=broker.password,
            tls_context=broker.tls,
            identifier=f"benchtally-{self._bench}",
            protocol=aiomqtt.ProtocolVersion.V5,
            timeout=TIMEOUT_S,
            keepalive=KEEPALIVE_S,
            socket_options=[(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)],
            will=aiomqtt.Will(
                f"{PREFIX}/{self._bench}/state",
                as_json({"state": "gone", "source": self._source}),
                qos=1,
                retain=True,
            ),
        )
        await client.__aenter__()
        self._client = client
        self._told_states = {}
        await self._publish_state(client, "running", None)
        return client

    async def _drop(self) -> None:
        client, self._client = self._client, None
        if client is not None:
            with contextlib.suppress(Exception):
                async with asyncio.timeout(TIMEOUT_S):
                    await client.__aexit__(None, None, None)

    async def _publish_event(
        self, client: "aiomqtt.Client", topic: str, event: Mapping[str, Any]
    ) -> None:
        from paho.mqtt.packettypes import PacketTypes
        from paho.mqtt.properties import Properties

        properties = Properties(PacketTypes.PUBLISH)  # type: ignore[no-untyped-call]
        properties.ContentType = MEDIA_TYPE
        properties.MessageExpiryInterval = self._broker.expiry_s
        await client.publish(topic, as_json(event), qos=1, properties=properties)

    async def _publish_states(self, client: "aiomqtt.Client", cursor: int) -> None:
        for serial, state in self._states().items():
            if self._told_states.get(serial) != state:
                topic = f"{PREFIX}/{self._bench}/gauge/{topic_part(serial)}/state"
                payload = as_json({"state": state, "serial": serial, "at": self._wall()})
                await client.publish(topic, payload, qos=1, retain=True)
                self._told_states[serial] = state
        if self._now_s() - self._said_s >= HEARTBEAT_S:
            await self._publish_state(client, "running", cursor)
            self._said_s = self._now_s()

    async def _publish_state(
        self, client: "aiomqtt.Client", state: str, cursor: int | None
    ) -> None:
        """cursor: of the last entry, which shows a receiver whether it has them all."""
        said = {"state": state, "source": self._source, "at": self._wall()}
        if cursor is not None:
            said["cursor"] = str(cursor)
        topic = f"{PREFIX}/{self._bench}/state"
        await client.publish(topic, as_json(said), qos=1, retain=True)
