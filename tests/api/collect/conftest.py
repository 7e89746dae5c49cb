"""Benches, a broker, a database and collectors, all real."""

import asyncio
import contextlib
import json
import time
import uuid
from urllib.parse import parse_qs, urlsplit

import psycopg
import pytest

from api.collect.benches import Asked
from api.collect.collector import Collector
from api.events import event_of, source_of
from api.push.mqtt import Broker, Mqtt
from tests.api.push.conftest import Bench, until
from tests.servers import mosquitto, postgres  # noqa: F401


class Shop:
    """Benches that tell, and what was collected of them."""

    def __init__(self, tmp_path, broker, url):
        self.broker, self.url = broker, url
        self._folder = tmp_path
        self.benches = {}

    def bench(self, name):
        if name not in self.benches:
            self.benches[name] = Bench(self._folder / name, prefix=name)
        return self.benches[name]

    def channel(self, name):
        there = Broker("127.0.0.1", self.broker.port)
        return Mqtt(
            there, source_of(name), dict, lambda: "2026-11-25T00:00:00.000Z", time.monotonic
        )

    @contextlib.asynccontextmanager
    async def telling(self, *names):
        async with contextlib.AsyncExitStack() as stack:
            for name in names:
                telling = self.bench(name).telling(self.channel(name), bench=name)
                await stack.enter_async_context(telling)
            yield

    @contextlib.asynccontextmanager
    async def collecting(self, *asked, name="one"):
        collector = Collector(self.url, Broker("127.0.0.1", self.broker.port), asked, name)
        task = asyncio.create_task(collector.run())
        try:
            if self.broker.process.poll() is None:
                await until(lambda: collector.listening)
            yield collector
        finally:
            task.cancel()
            await asyncio.gather(task, return_exceptions=True)

    @contextlib.asynccontextmanager
    async def asked(self, name):
        """The bench as one that can be asked over HTTP, as api/rest/bench.py answers."""

        async def serve(reader, writer):
            with contextlib.suppress(asyncio.IncompleteReadError, ConnectionError):
                while True:
                    head = (await reader.readuntil(b"\r\n\r\n")).decode()
                    query = parse_qs(urlsplit(head.split(" ")[1]).query)
                    after, limit = int(query["after"][0]), int(query["limit"][0])
                    found = self.bench(name).journal.events(after, limit)
                    said = {
                        "events": [event_of(event, name) for event in found],
                        "next": str(found[-1].cursor if found else after),
                    }
                    body = json.dumps(said).encode()
                    start = f"HTTP/1.1 200 OK\r\ncontent-length: {len(body)}\r\n\r\n"
                    writer.write(start.encode() + body)
                    await writer.drain()
            writer.close()

        server = await asyncio.start_server(serve, "127.0.0.1", 0)
        port = server.sockets[0].getsockname()[1]
        try:
            yield Asked(source=source_of(name), url=f"http://127.0.0.1:{port}", token=None)
        finally:
            server.close()

    def written(self, name):
        return [event.entry.id for event in self.bench(name).journal.events(0, 100_000)]

    def untold(self, name):
        return self.bench(name).untold("mqtt")

    def rows(self, query):
        # The collector runs in this very loop: a read that waited for it would wait for ever.
        with psycopg.connect(self.url) as connection:
            connection.execute("SET lock_timeout = '100ms'")
            try:
                return connection.execute(query).fetchall()
            except (psycopg.errors.UndefinedTable, psycopg.errors.LockNotAvailable):
                return []

    def collected(self, name):
        query = f"SELECT id FROM in_order WHERE source = '{source_of(name)}' ORDER BY cursor"
        return [row[0] for row in self.rows(query)]


@pytest.fixture
def shop(tmp_path, mosquitto, postgres):  # noqa: F811
    broker = mosquitto()
    broker.start()
    shop = Shop(tmp_path, broker, postgres.database(f"c{uuid.uuid4().hex}"))
    yield shop
    for bench in shop.benches.values():
        bench.journal.close()


@pytest.fixture
def wait_until():
    return until
