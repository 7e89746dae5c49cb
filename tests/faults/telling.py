"""A bench under load that writes, announces and tells a broker, until killed.

It writes a line `ID` on stdout for each entry, once `append` returned. With the run `drain` it
writes nothing and ends when all was told. `nursery` runs it.
"""

import asyncio
import hashlib
import os
import time
import uuid
from datetime import UTC, datetime
from pathlib import Path

from api.push.gaps import Gaps
from api.push.mqtt import Broker, Mqtt
from api.push.sender import Sender
from daq.head.record import Draft, EntryKind
from daq.records.journal import Journal
from daq.records.outbox import Outbox

NAME = "bench-1"
APPENDS = 300


def write(journal: Journal, run: str, tell) -> None:
    job = f"job-{run}-{uuid.uuid4()}"
    for number in range(APPENDS):
        if number == 0:
            body = {"number": job, "plan": {"name": "invented"}}
            drafts = [Draft(job, EntryKind.JOB_OPENED, body)]
        else:
            packed = os.urandom(500)
            named = {"part_c": "20", "trace_sha256": hashlib.sha256(packed).hexdigest()}
            note = Draft(job, EntryKind.ZEROED, {"number": str(number)})
            drafts = [Draft(job, EntryKind.TEMPERATURE, named, packed), *[note] * (number % 3)]
        for entry in journal.append(drafts):
            os.write(1, f"{entry.id}\n".encode())
        tell()
        time.sleep(0.002)


async def main(folder: Path, run: str, port: int, url: str | None) -> None:
    journal = Journal.open(
        folder, now=lambda: datetime.now(UTC), new_id=lambda: str(uuid.uuid4()), url=url
    )
    there = Broker("127.0.0.1", port)
    wall = "2026-11-25T00:00:00.000Z"
    channel = Mqtt(there, f"urn:x-bench:{NAME}", dict, lambda: wall, time.monotonic)
    outbox = Outbox.open_to_read(folder, url)
    outbox.begin([channel.name])
    sender = Sender(channel, outbox, NAME, Gaps(0.05, 0.5, lambda: 1.0), time.monotonic)
    task = asyncio.create_task(sender.run())
    loop = asyncio.get_running_loop()
    if run != "drain":
        tell = lambda: loop.call_soon_threadsafe(sender.wake)  # noqa: E731
        while True:  # until killed, however slowly whoever kills comes to it
            await asyncio.to_thread(write, journal, run, tell)
    while outbox.depth(channel.name) > 0:  # noqa: ASYNC110 - no event says so
        await asyncio.sleep(0.05)
    task.cancel()
    await asyncio.gather(task, return_exceptions=True)
    journal.close()
