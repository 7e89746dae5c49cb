"""Kill a bench at moments of chance, again and again; what it announced must stand, and be told."""

import asyncio
import contextlib
import math
import random
import signal
import time
from collections import Counter
from pathlib import Path

from api.collect.collector import Collector
from api.push.mqtt import Broker
from daq.records.records import Records
from daq.records.signing import PUBLIC_FILE, public_keys
from daq.records.verify import verify
from daq.records.verify_store import verify_store
from tests.api.push.conftest import until
from tests.faults.nursery import Nursery

ANNOUNCED_MOST, DELAY_S_MOST = 60, 0.2


def run_and_kill(nursery: Nursery, folder: Path, run: int, port: int, url, chance) -> list[str]:
    """The ids that a bench announced before it was killed."""
    with nursery.start(folder, str(run), port, url) as announced:
        heard = b"".join(announced.readline() for _ in range(chance.randrange(ANNOUNCED_MOST)))
        time.sleep(chance.uniform(0, DELAY_S_MOST))
        nursery.kill()
        heard += announced.read()
    ended = nursery.wait()
    assert ended == -signal.SIGKILL, (ended, nursery.said())
    # A line torn by the kill was not announced.
    return heard.decode().rpartition("\n")[0].split()


def drain(nursery: Nursery, folder: Path, port: int, url: str | None) -> int:
    """Let a bench tell what is left, to its end."""
    with nursery.start(folder, "drain", port, url) as announced:
        announced.read()
    return nursery.wait()


async def kill_often(
    kills, seed, folder, broker_port, url, collected_url, rows, within_s=math.inf
) -> str:
    """Kill so often; then everything announced stands once, is whole, and was collected once.

    rows: asks the collector's database. within_s: no further kill after so long. Gives what there
    is to say of it, with the number of kills that there were.
    """
    chance = random.Random(seed)
    broker = Broker("127.0.0.1", broker_port)
    collector = Collector(collected_url, broker, [], "one")
    collecting = asyncio.create_task(collector.run())
    await until(lambda: collector.listening)
    announced, run, begun_s = [], 0, time.monotonic()
    folder.mkdir()
    with contextlib.closing(Nursery(folder.parent)) as nursery:
        while run < kills and time.monotonic() - begun_s < within_s:
            bench = (nursery, folder, run, broker_port, url, chance)
            announced += await asyncio.to_thread(run_and_kill, *bench)
            run += 1
        assert await asyncio.to_thread(drain, nursery, folder, broker_port, url) == 0, (
            nursery.said()
        )
    with Records.open_to_read(folder, url) as records:
        assert records.damage() == []
        keys = public_keys(folder / PUBLIC_FILE)
        assert [v.findings for v in verify(records, keys) if v.findings] == []
        assert verify_store(records, keys) == []
        stands = [event.entry.id for event in records.events(0, 10**7)]
    assert set(Counter(stands).values()) == {1}
    assert set(announced) <= set(stands)
    in_order = "SELECT id FROM in_order ORDER BY source, cursor"
    await until(lambda: len(rows(in_order)) == len(stands), seconds=300)
    assert [row[0] for row in rows(in_order)] == stands
    assert rows("SELECT count(*) FROM events") == [(len(stands),)]
    collecting.cancel()
    await asyncio.gather(collecting, return_exceptions=True)
    return (
        f"{run} kills: {len(announced)} entries announced, {len(stands)} stand, each once; "
        f"{collector.taken} events came, {len(stands)} were kept"
    )
