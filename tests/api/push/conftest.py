"""A journal that is written into, and real receivers: an HTTP server and a broker."""

import asyncio
import contextlib
import itertools
import json
import time
from datetime import UTC, datetime, timedelta

import pytest

from api.push.gaps import Gaps
from api.push.pushing import pushing_of
from daq.head.record import Draft, EntryKind
from daq.records.journal import Journal
from daq.records.outbox import Outbox
from tests.servers import mosquitto, postgres  # noqa: F401

START = datetime(2026, 11, 25, tzinfo=UTC)
GAPS = Gaps(0.02, 0.1, lambda: 1.0)


class Bench:
    """A journal with its outbox, and how to write into it without a plan."""

    def __init__(self, folder, prefix="id"):
        self.folder, self._prefix = folder, prefix
        self._count = itertools.count(1)
        self.journal = Journal.open(
            folder,
            now=lambda: START + timedelta(seconds=next(self._count)),
            new_id=lambda: f"{prefix}-{next(self._count)}",
        )
        self._opened = set()

    def write(self, job, entries=1):
        drafts = [Draft(job, EntryKind.TEMPERATURE, {"part_c": str(n)}) for n in range(entries)]
        if job not in self._opened:
            body = {"number": job, "plan": {"name": "invented"}}
            drafts.insert(0, Draft(job, EntryKind.JOB_OPENED, body))
            self._opened.add(job)
        return [entry.id for entry in self.journal.append(drafts)]

    def outbox(self):
        return Outbox.open_to_read(self.folder)

    def untold(self, name):
        """How many entries that receiver has not taken yet."""
        with contextlib.closing(self.outbox()) as outbox:
            return outbox.depth(name)

    @contextlib.asynccontextmanager
    async def telling(self, *channels, gaps=GAPS, bench="Bench 1"):
        """The senders at work on these channels, until the block is left."""
        pushing = pushing_of([(each, gaps) for each in channels], self.outbox(), bench)
        task = asyncio.create_task(pushing.run())
        try:
            yield pushing
        finally:
            task.cancel()
            await asyncio.gather(task, return_exceptions=True)


@pytest.fixture
def bench(tmp_path):
    bench = Bench(tmp_path / "data")
    with contextlib.closing(bench.journal):
        yield bench


class Receiver:
    """An HTTP server that writes down what it is sent and answers what it is told to."""

    def __init__(self):
        self.requests = []  # (headers, body) of all, in order
        self.taken = []  # events it answered 2xx
        self.answer = lambda event: 204
        self.delay_s = 0.0
        self._serving = set()

    async def serve(self, reader, writer):
        self._serving.add(asyncio.current_task())
        try:
            await self._answer(reader, writer)
        except (asyncio.IncompleteReadError, ConnectionError, asyncio.CancelledError):
            pass
        finally:
            writer.close()

    async def close(self):
        for task in self._serving:
            task.cancel()
        await asyncio.gather(*self._serving, return_exceptions=True)

    async def _answer(self, reader, writer):
        while True:
            head = (await reader.readuntil(b"\r\n\r\n")).decode().split("\r\n")
            headers = dict(line.lower().split(": ", 1) for line in head[1:] if line)
            headers = {**headers, **{k: v for k, v in pairs(head) if k == "webhook-signature"}}
            body = await reader.readexactly(int(headers["content-length"]))
            event = json.loads(body)
            self.requests.append((headers, body))
            await asyncio.sleep(self.delay_s)
            status = self.answer(event)
            if 200 <= status < 300:
                self.taken.append(event)
            more = "location: http://127.0.0.1:1/\r\n" if 300 <= status < 400 else ""
            writer.write(f"HTTP/1.1 {status} X\r\n{more}content-length: 0\r\n\r\n".encode())
            await writer.drain()


def pairs(head):
    return [(line.split(": ", 1)[0].lower(), line.split(": ", 1)[1]) for line in head[1:] if line]


@pytest.fixture
async def receiver():
    receiver = Receiver()
    server = await asyncio.start_server(receiver.serve, "127.0.0.1", 0)
    receiver.url = f"http://127.0.0.1:{server.sockets[0].getsockname()[1]}/hook"
    yield receiver
    server.close()
    await receiver.close()


async def until(true, seconds=180.0):
    """Wait for what must come about by itself."""
    deadline = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < deadline, "it did not come about"
        await asyncio.sleep(0.01)


@pytest.fixture
def wait_until():
    return until
