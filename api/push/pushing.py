"""All senders of a bench: made from the config, run beside it, and how they stand."""

import asyncio
import random
import ssl
import time
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from urllib.parse import urlsplit

from api.config import ConfigError, Loaded
from api.events import source_of
from api.push.channel import Channel
from api.push.gaps import Gaps
from api.push.mqtt import Broker, Mqtt
from api.push.sender import Sender
from api.push.tables import MQTT_PORTS, MqttTable, WebhookTable
from api.push.webhook import Webhook, key_of
from daq.head.record import Entry
from daq.records.errors import RecordError
from daq.records.outbox import Outbox
from daq.run import Run

BROKER_GAPS_S = (0.5, 60.0)
WEBHOOK_GAPS_S = (5.0, 24 * 3600.0)  # as Standard Webhooks advises: for days, ever more rarely
SECRETS_MOST = 2


class Pushing:
    """The senders. They read on a connection of their own and never hold the bench up."""

    def __init__(self, outbox: Outbox, senders: Sequence[Sender]) -> None:
        self.senders = senders
        self._outbox = outbox

    async def run(self) -> None:
        """Tell everybody until cancelled."""
        try:
            await asyncio.gather(*(sender.run() for sender in self.senders))
        finally:
            await asyncio.to_thread(self._outbox.close)

    def tell(self, _entry: Entry) -> None:
        """Something was written."""
        for sender in self.senders:
            sender.wake()

    def troubles(self) -> list[str]:
        """What is wrong, in sentences."""
        return [sender.trouble for sender in self.senders if sender.trouble]

    async def depths(self) -> Mapping[str, int]:
        """How many entries each receiver is still to be told; -1 where it cannot be said."""
        return {
            sender.name: await asyncio.to_thread(self._depth, sender.name)
            for sender in self.senders
        }

    def _depth(self, name: str) -> int:
        with suppress(RecordError):
            return self._outbox.depth(name)
        return -1


def push_for(loaded: Loaded, run: Run) -> Pushing | None:
    """The senders that the config names; None when it names no receiver.

    Raises ConfigError, RecordError.
    """
    config = loaded.config
    if config.mqtt is None and not config.webhook:
        return None

    def states() -> dict[str, str]:
        return {serials[gauge.spec.name]: gauge.state.value for gauge in run.gauges}

    serials = {each.name: each.serial or each.name for each in config.gauge}
    channels = channels_of(config.mqtt, config.webhook, loaded.folder, config.bench.name, states)
    outbox = Outbox.open_to_read(loaded.data, loaded.database)
    return pushing_of(channels, outbox, config.bench.name)


def pushing_of(
    channels: Sequence[tuple[Channel, Gaps]],
    outbox: Outbox,
    bench: str,
    now_s: Callable[[], float] = time.monotonic,
) -> Pushing:
    """Senders for these channels. Raises RecordError."""
    outbox.begin([channel.name for channel, _ in channels])
    return Pushing(
        outbox, [Sender(channel, outbox, bench, gaps, now_s) for channel, gaps in channels]
    )


def channels_of(
    mqtt: MqttTable | None,
    webhooks: Sequence[WebhookTable],
    folder: Path,
    bench: str,
    states: Callable[[], Mapping[str, str]],
) -> list[tuple[Channel, Gaps]]:
    """What the config names. folder: where its paths count from. Raises ConfigError."""
    chance = random.SystemRandom().random
    found: list[tuple[Channel, Gaps]] = []
    if mqtt is not None:
        channel = Mqtt(broker_of(mqtt, folder), source_of(bench), states, _wall, time.monotonic)
        found.append((channel, Gaps(*BROKER_GAPS_S, chance)))
    for table in webhooks:
        keys = _keys(folder / table.secret_file, table.name)
        webhook = Webhook(table.name, table.url, keys, time.time)
        found.append((webhook, Gaps(*WEBHOOK_GAPS_S, chance)))
    return found


def broker_of(table: MqttTable, folder: Path) -> Broker:
    """The broker of that table. folder: where its paths count from. Raises ConfigError."""
    parts = urlsplit(table.broker)
    tls = None
    if parts.scheme == "mqtts":
        try:
            tls = ssl.create_default_context(cafile=table.ca and str(folder / table.ca))
        except OSError as error:
            raise ConfigError(f"ca of [mqtt] cannot be read: {error.strerror or error}.") from None
    password = None
    if table.password_file is not None:
        password = _text(folder / table.password_file, "password_file of [mqtt]").strip()
    return Broker(
        host=str(parts.hostname),
        port=parts.port or MQTT_PORTS[parts.scheme],
        user=table.user,
        password=password,
        tls=tls,
        expiry_s=table.expiry_s,
    )


def _keys(file: Path, name: str) -> list[bytes]:
    where = f"secret_file of webhook {name!r}"
    secrets = _text(file, where).split()
    if not 1 <= len(secrets) <= SECRETS_MOST:
        raise ConfigError(f"{where} has to hold one secret, or two while it is changed.")
    try:
        return [key_of(secret) for secret in secrets]
    except ValueError as error:
        raise ConfigError(f"{where}: {error}.") from None


def _text(file: Path, where: str) -> str:
    try:
        return file.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        said = getattr(error, "strerror", None) or "it is no text"
        raise ConfigError(f"{where} cannot be read: {said} ({file}).") from None


def _wall() -> str:
    return datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
