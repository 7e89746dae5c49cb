"""Kill a bench at moments of chance, again and again; what it announced must stand, and be told."""

import asyncio
import contextlib
import os
import random
import signal
import subprocess
import sys
from collections import Counter
from pathlib import Path

from api.collect.collector import Collector
from api.push.mqtt import Broker
from daq.records.records import Records
from daq.records.signing import PUBLIC_FILE, public_keys
from daq.records.verify import verify
from daq.records.verify_store import verify_store
from tests.api.push.conftest import until

ROOT = Path(__file__).parents[2]
ANNOUNCED_MOST, DELAY_S_MOST = 60, 0.2


def start(folder: Path, run: str, port: int, url: str | None) -> subprocess.Popen:
    program = Path(__file__).with_name("telling.py")
    command = [sys.executable, program, folder, run, str(port), *([url] if url else [])]
    return subprocess.Popen(
        command,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
    )


def run_and_kill(folder: Path, run: int, port: int, url: str | None, chance) -> list[str]:
    """The ids that a bench announced before it was killed."""
    process = start(folder, str(run), port, url)
    with process:
        lines = chance.randrange(ANNOUNCED_MOST)
        heard = b"".join(process.stdout.readline() for _ in range(lines))
        with contextlib.suppress(subprocess.TimeoutExpired):
            process.wait(chance.uniform(0, DELAY_S_MOST))
        process.send_signal(signal.SIGKILL)
        heard += process.stdout.read()
    assert process.returncode == -signal.SIGKILL
    # A line torn by the kill was not announced.
    return heard.decode().rpartition("\n")[0].split()


def drain(folder: Path, port: int, url: str | None) -> int:
    """Let a bench tell what is left, to its end."""
    with start(folder, "drain", port, url) as process:
        process.communicate(timeout=120)
    return process.returncode


async def kill_often(kills, seed, folder, broker_port, url, collected_url, rows) -> str:
    """Kill so often; then everything announced stands once, is whole, and was collected once.

    rows: asks the collector's database. Gives what there is to say of it.
    """
    chance = random.Random(seed)
    broker = Broker("127.0.0.1", broker_port)
    collector = Collector(collected_url, broker, [], "one")
    collecting = asyncio.create_task(collector.run())
    await until(lambda: collector.listening)
    announced = []
    for run in range(kills):
        told = await asyncio.to_thread(run_and_kill, folder, run, broker_port, url, chance)
        announced += told
    assert await asyncio.to_thread(drain, folder, broker_port, url) == 0
    with Records.open_to_read(folder, url) as records:
        assert records.damage() == []
        keys = public_keys(folder / PUBLIC_FILE)
        assert [v.findings for v in verify(records, keys) if v.findings] == []
        assert verify_store(records, keys) == []
        stands = [entry.id for _, entry in records.events(0, 10**7)]
    assert set(Counter(stands).values()) == {1}
    assert set(announced) <= set(stands)
    in_order = "SELECT id FROM in_order ORDER BY source, cursor"
    await until(lambda: len(rows(in_order)) == len(stands), seconds=60)
    assert [row[0] for row in rows(in_order)] == stands
    assert rows("SELECT count(*) FROM events") == [(len(stands),)]
    collecting.cancel()
    await asyncio.gather(collecting, return_exceptions=True)
    return (
        f"{kills} kills: {len(announced)} entries announced, {len(stands)} stand, each once; "
        f"{collector.taken} events came, {len(stands)} were kept"
    )
