"""Events a second through mosquitto into PostgreSQL from fifty benches, against a bare loop.

By hand: `python -m pytest tests/benchmarks/test_collector.py -s -n 0`. Bare is aiomqtt and asyncpg
with nothing between: no check, no order, no gaps seen; once row by row, once in batches like ours.
"""

import asyncio
import json
import statistics
import subprocess
import sys
import time
from pathlib import Path

import aiomqtt
import asyncpg
import psycopg
import pytest

from api.collect.collector import Collector
from api.push.mqtt import Broker
from tests.servers import mosquitto, postgres  # noqa: F401

ROOT = Path(__file__).parents[2]
EVENTS, ROUNDS, RATIO_LEAST = 4000, 3, 0.5
TABLE = (
    "CREATE TABLE bare (source text, cursor bigint, id text, type text, job text, time text, "
    "body json, PRIMARY KEY (source, cursor))"
)
INSERT = "INSERT INTO bare VALUES ($1, $2, $3, $4, $5, $6, $7) ON CONFLICT DO NOTHING"


def row(payload):
    said = json.loads(payload)
    names = ("id", "type")
    first = (said["source"], int(said["cursor"]), *(said[name] for name in names))
    return (*first, said["data"]["job"], said["time"], payload.decode())


async def bare(url, port, ready, *, batches):
    """aiomqtt in, asyncpg out."""
    connection = await asyncpg.connect(url)
    try:
        await connection.execute("SET synchronous_commit = on")
        async with aiomqtt.Client("127.0.0.1", port, protocol=aiomqtt.ProtocolVersion.V5) as client:
            await client.subscribe("bench/v1/+/job/+/measurement", qos=1)
            ready.set()
            rows = []
            async for message in client.messages:
                rows.append(row(message.payload))
                if not batches or len(client.messages) == 0 or len(rows) >= 500:
                    await connection.executemany(INSERT, rows)
                    rows.clear()
    finally:
        connection.terminate()  # it is cancelled in the middle of whatever it does


async def timed(port, prefix, count):
    """Events a second, from the first that is published to the last that is in the database."""
    publisher = await asyncio.create_subprocess_exec(
        *(sys.executable, str(Path(__file__).with_name("publishing.py"))),
        *(str(port), str(EVENTS), prefix),
        stderr=subprocess.DEVNULL,
    )
    while count() == 0:  # noqa: ASYNC110 - seen in the database only
        await asyncio.sleep(0.002)
    begun, seen_first = time.perf_counter(), count()
    while (seen := count()) < EVENTS:  # noqa: ASYNC110
        await asyncio.sleep(0.05)
    took_s = time.perf_counter() - begun
    await publisher.wait()
    return (seen - seen_first) / took_s


def counting(url, query):
    connection = psycopg.connect(url, autocommit=True)
    return lambda: connection.execute(query).fetchone()[0], connection


async def run_bare(url, port, prefix, *, batches):
    with psycopg.connect(url) as plain:
        plain.execute("DROP TABLE IF EXISTS bare")
        plain.execute(TABLE)
    count, connection = counting(url, "SELECT count(*) FROM bare")
    ready = asyncio.Event()
    task = asyncio.create_task(bare(url, port, ready, batches=batches))
    await ready.wait()
    try:
        rate = asyncio.create_task(timed(port, prefix, count))
        await asyncio.wait({rate, task}, return_when=asyncio.FIRST_COMPLETED)
        return task.result() if task.done() else rate.result()
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)
        connection.close()


async def run_ours(url, port, prefix):
    collector = Collector(url, Broker("127.0.0.1", port), [], "one")
    task = asyncio.create_task(collector.run())
    while not collector.listening:  # noqa: ASYNC110 - a flag of the product
        await asyncio.sleep(0.01)
    # What is whole up to there; cursors have no gap, so their sum is a count.
    whole = "SELECT coalesce(sum(whole_to), 0)::bigint FROM benches"
    query = f"{whole} WHERE source LIKE 'urn:x-bench:{prefix}-%'"
    count, connection = counting(url, query)
    try:
        return await timed(port, prefix, count)
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)
        connection.close()


@pytest.mark.timeout(600)
async def test_events_into_the_database(mosquitto, postgres):  # noqa: F811
    broker = mosquitto("allow_anonymous true", "max_queued_messages 0")
    broker.start()
    url = postgres.database("collected")
    plain_url = postgres.url()
    rates = {"ours": [], "row by row": [], "in batches": []}
    for number in range(ROUNDS):
        rates["ours"].append(await run_ours(url, broker.port, f"ours{number}"))
        each = await run_bare(plain_url, broker.port, f"each{number}", batches=False)
        rates["row by row"].append(each)
        rates["in batches"].append(
            await run_bare(plain_url, broker.port, f"batch{number}", batches=True)
        )
    median = {name: statistics.median(found) for name, found in rates.items()}
    by_row, in_batches = (
        median["ours"] / median["row by row"],
        median["ours"] / median["in batches"],
    )
    print(
        f"\nevents a second from 50 benches: ours {median['ours']:.0f}, bare row by row "
        f"{median['row by row']:.0f} (ratio {by_row:.2f}), bare in batches "
        f"{median['in batches']:.0f} (ratio {in_batches:.2f})"
    )
    print({name: [round(each) for each in found] for name, found in rates.items()})
    assert by_row >= RATIO_LEAST
    assert in_batches >= RATIO_LEAST
