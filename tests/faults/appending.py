"""Run as a program: a bench that writes a job and says each entry only once `append` returned.

Each line on stdout is what was told: `kept ID ID …` after an append, `refused SENTENCE` for one
that failed (it is then tried again, as a bench does), `done` at the end. With a line `go`
between, so that whoever reads stdout knows where one append begins.
"""

import argparse
import asyncio
import contextlib
import hashlib
import itertools
import os
import resource
import signal
import threading
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from api.push.gaps import Gaps
from api.push.sender import Sender
from api.push.webhook import Webhook
from daq.head.plan import shipped_plans
from daq.head.record import Draft, EntryKind
from daq.records import database
from daq.records.errors import RecordError
from daq.records.journal import Journal
from daq.records.outbox import Outbox
from daq.records.rows import Receipt

TRIES_MOST = 50


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--appends", type=int, default=8)
    parser.add_argument("--synchronous", default="FULL")
    parser.add_argument("--checkpoint-pages", type=int, default=1000)
    parser.add_argument("--file-size-most", type=int, help="grows by 4 KiB after each refusal")
    parser.add_argument("--first-id", type=int, default=1)
    parser.add_argument("--tell", help="the address of a webhook that is told everything")
    asked = parser.parse_args()
    set_up(asked)
    ids, ticks = itertools.count(asked.first_id), itertools.count()
    journal = Journal.open(
        asked.folder,
        now=lambda: datetime(2026, 3, 4, tzinfo=UTC) + timedelta(seconds=next(ticks)),
        new_id=lambda: f"id-{next(ids)}",
    )
    job = f"job-{asked.first_id}"
    with telling(asked.folder, asked.tell) if asked.tell else contextlib.nullcontext():
        if asked.file_size_most is not None:
            limit(asked.file_size_most)
        for number in range(asked.appends):
            append(journal, number, [opening(job)] if number == 0 else batch(job, number))
        if asked.file_size_most is not None:
            limit(resource.RLIM_INFINITY)
    say("done")
    journal.close()


@contextlib.contextmanager
def telling(folder: Path, url: str) -> Iterator[None]:
    """A sender beside the bench, as the service has it; at the end everything has been told."""
    outbox = Outbox.open_to_read(folder)
    outbox.begin(["erp"])
    channel = Webhook("erp", url, [bytes(24)], time.time)
    sender = Sender(channel, outbox, "bench-1", Gaps(0.01, 0.1, lambda: 1.0), time.monotonic)
    loop = asyncio.new_event_loop()
    running = loop.create_task(sender.run())
    thread = threading.Thread(target=lambda: loop.run_until_complete(asyncio.wait([running])))
    thread.start()
    try:
        yield
        while outbox.depth("erp") > 0:
            time.sleep(0.01)
    finally:
        loop.call_soon_threadsafe(running.cancel)
        thread.join()
        loop.close()
        outbox.close()


def set_up(asked: argparse.Namespace) -> None:
    """Take the fsync out, or let the log be copied into the file often; for the test only."""
    real = database._write_ahead

    def write_ahead(connection, file):
        real(connection, file)
        connection.execute(f"PRAGMA synchronous = {asked.synchronous}")
        connection.execute(f"PRAGMA wal_autocheckpoint = {asked.checkpoint_pages}")

    if asked.synchronous != "FULL" or asked.checkpoint_pages != 1000:
        database._write_ahead = write_ahead


def append(journal: Journal, number: int, drafts: list[Draft]) -> None:
    for _ in range(TRIES_MOST):
        say("go")
        try:
            entries = journal.append(drafts, Receipt(f"{drafts[0].job} {number}", "hash", 201))
        except RecordError as error:
            say(f"refused {error}")
            soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
            if soft != resource.RLIM_INFINITY:
                resource.setrlimit(resource.RLIMIT_FSIZE, (soft + 4096, hard))
        else:
            say(" ".join(["kept", *(entry.id for entry in entries)]))
            return
    raise SystemExit(f"append {number} was refused {TRIES_MOST} times")


def opening(job: str) -> Draft:
    plan = shipped_plans()["four-by-two"].model_dump(mode="json", exclude_none=True)
    return Draft(job, EntryKind.JOB_OPENED, {"number": job, "plan": plan})


def batch(job: str, number: int) -> list[Draft]:
    """One to three entries, the first with a trace of a few kilobytes."""
    packed = hashlib.shake_256(f"{job} {number}".encode()).digest(1000 * number % 9000)
    named = {"gauge_c": f"0.{number:03}", "trace_sha256": hashlib.sha256(packed).hexdigest()}
    note = Draft(job, EntryKind.TEMPERATURE, {"part_c": str(number)})
    return [Draft(job, EntryKind.TEMPERATURE, named, packed), *[note] * (number % 3)]


def limit(most: int) -> None:
    """No file may grow beyond `most` bytes; the write fails instead of ending the process."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (most, resource.getrlimit(resource.RLIMIT_FSIZE)[1]))


def say(line: str) -> None:
    """One write(2) a line, past any buffer."""
    os.write(1, f"{line}\n".encode())


if __name__ == "__main__":
    main()
