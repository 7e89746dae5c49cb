"""Every bench's events in one PostgreSQL: each once, in order, whatever the broker loses."""

import asyncio
import contextlib
import dataclasses
import json

import aiomqtt
import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.collect.benches import BenchesError, load_benches
from api.collect.collector import Collector
from api.collect.event import EventError, event_in
from api.collect.event import event_of as collected
from api.collect.store import Store
from api.events import event_of
from api.push.mqtt import Broker


@contextlib.asynccontextmanager
async def opened(url):
    store = Store(url, [])
    await store.open()
    yield store
    await store.close()


NAMES = ("bench-1", "bench-2", "bench-3")


async def test_the_events_of_all_benches_are_there_once_and_in_order(shop, wait_until):
    async with shop.collecting(), shop.telling(*NAMES):
        for round_ in range(5):
            for name in NAMES:
                shop.bench(name).write(f"job-{round_ % 2}", 3)
        await wait_until(lambda: all(shop.collected(name) == shop.written(name) for name in NAMES))
    (count,) = shop.rows("SELECT count(*) FROM events")[0]
    assert count == sum(len(shop.written(name)) for name in NAMES)


async def test_two_collectors_share_the_work_and_leave_nothing_out(shop, wait_until):
    async with (
        shop.collecting(name="one") as one,
        shop.collecting(name="two") as two,
        shop.telling(*NAMES),
    ):
        for _ in range(20):
            for name in NAMES:
                shop.bench(name).write("job", 2)
        await wait_until(lambda: all(shop.collected(name) == shop.written(name) for name in NAMES))
        # Each counts what it took just after it can be seen.
        await wait_until(lambda: one.taken > 0 and two.taken > 0)


async def test_what_the_broker_lost_is_asked_for(shop, wait_until, monkeypatch):
    monkeypatch.setattr("api.collect.catching_up.GRACE_S", 0.1)
    shop.bench("bench-1").write("before anybody listened", 4)
    async with shop.asked("bench-1") as asked, shop.telling("bench-1"):
        shop.bench("bench-1").write("told to nobody", 4)
        await wait_until(lambda: shop.untold("bench-1") == 0)
        async with shop.collecting(asked) as collector:
            shop.bench("bench-1").write("heard", 4)
            await wait_until(lambda: shop.collected("bench-1") == shop.written("bench-1"))
            # It counts what it fetched just after what it fetched can be seen.
            await wait_until(lambda: collector._asking[0].fetched >= 10)


async def test_without_the_broker_at_all_the_bench_is_asked(shop, wait_until):
    shop.broker.stop()
    shop.bench("bench-1").write("job", 10)
    async with shop.asked("bench-1") as asked, shop.collecting(asked):
        await wait_until(lambda: shop.collected("bench-1") == shop.written("bench-1"))


async def test_it_ends_when_the_broker_goes_while_it_is_left(shop):
    begun = asyncio.Event()

    async def listens():
        begun.set()
        try:
            await asyncio.Event().wait()
        finally:
            raise aiomqtt.MqttError("[code:7] The connection was lost.")

    collector = Collector(shop.url, Broker("127.0.0.1", shop.broker.port), [], "one")
    task = asyncio.create_task(collector._for_ever(listens))
    await begun.wait()
    task.cancel()
    assert await ends(task)
    await collector._store.close()


async def test_it_ends_when_its_end_comes_with_the_broker_s_answer(shop, monkeypatch):
    begun = asyncio.Event()

    async def loses_the_cancellation(client, topic, qos):
        # As wait_for of Python 3.11 does when the answer comes in the same moment.
        begun.set()
        with contextlib.suppress(asyncio.CancelledError):
            await asyncio.Event().wait()

    monkeypatch.setattr(aiomqtt.Client, "subscribe", loses_the_cancellation)
    collector = Collector(shop.url, Broker("127.0.0.1", shop.broker.port), [], "one")
    task = asyncio.create_task(collector.run())
    await begun.wait()
    for _ in range(2):  # it subscribes twice, and loses one each time
        task.cancel()
        await asyncio.sleep(0.01)
    assert await ends(task)


async def ends(task):
    """Whether it ends by itself, now; ended it is in any case."""
    done, _ = await asyncio.wait([task], timeout=60)
    task.cancel()
    await asyncio.gather(task, return_exceptions=True)
    return bool(done)


async def test_a_database_that_breaks_off_costs_nothing(shop, postgres, wait_until):
    async with shop.collecting(), shop.telling("bench-1"):
        shop.bench("bench-1").write("job", 3)
        await wait_until(lambda: shop.collected("bench-1") == shop.written("bench-1"))
        for _ in range(3):
            with postgres.connect() as other:
                other.execute(
                    "SELECT pg_terminate_backend(pid, 60000) FROM pg_stat_activity "
                    "WHERE pid <> pg_backend_pid() AND backend_type = 'client backend'"
                )
            shop.bench("bench-1").write("job", 3)
        await wait_until(lambda: shop.collected("bench-1") == shop.written("bench-1"))


async def test_what_is_missing_hides_what_comes_after_it(shop, wait_until):
    """Without anybody to ask, `in_order` ends before the gap, and says nothing out of order."""
    bench = shop.bench("bench-1")
    bench.write("job", 4)
    events = bench.journal.events(0, 100)
    made = [collected(event_of(event, "bench-1")) for event in events]
    async with opened(shop.url) as store:
        await store.put([made[0], made[2], made[1], made[4]])
        assert shop.collected("bench-1") == [event.id for event in made[:3]]
        await store.put([made[3], made[0]])
        assert shop.collected("bench-1") == [event.id for event in made]
        changed = dataclasses.replace(made[1], id="another")
        assert await store.put([changed, made[0]]) == 1
        assert shop.collected("bench-1") == [event.id for event in made]


async def test_nobody_speaks_for_another_bench_and_nonsense_is_left_out(shop, wait_until):
    async with shop.collecting() as collector:
        event = {"specversion": "1.0", "id": "1", "source": "urn:x-bench:bench-2"}
        event |= {"type": "t", "time": "2026", "cursor": "1", "data": {"job": "a"}}
        said = [b"", b"\xff", b"[]", b"{" * 100_000, json.dumps(event).encode()]
        said.append(json.dumps({**event, "cursor": "-1"}).encode())
        there = {"hostname": "127.0.0.1", "port": shop.broker.port}
        async with aiomqtt.Client(**there) as client:
            for payload in said:
                await client.publish("bench/v1/bench-1/job/a/measurement", payload, qos=1)
                await client.publish("bench/v1/bench-1/state", payload, qos=1)
            await wait_until(lambda: collector.refused == 2 * len(said))
            await client.publish("bench/v1/bench-2/job/a/measurement", json.dumps(event), qos=1)
            await wait_until(lambda: shop.collected("bench-2") == ["1"])
    assert shop.rows("SELECT count(*) FROM events") == [(1,)]


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(),
    lambda deeper: st.lists(deeper) | st.dictionaries(st.text(), deeper),
)


@given(st.binary() | JSON.map(lambda value: json.dumps(value).encode()))
def test_whatever_comes_in_is_an_event_or_refused(payload):
    with contextlib.suppress(EventError):
        event_in(payload)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[[bench]]\nsource = 'a'\n", "bench.0.url"),
        ("[[bench]]\nsource = 'a'\nurl = 'ftp://b'\n", "https://bench-1.shop"),
        ("[[bench]]\nsource = 'a'\nurl = 'https://u:hush@b'\n", "https://bench-1.shop"),
        (
            "[[bench]]\nsource = 'a'\nurl = 'https://b'\ntoken_file = 'none'\n",
            "none cannot be read",
        ),
        ("= 1", "is not TOML"),
    ],
)
def test_a_bad_list_is_a_sentence(tmp_path, text, said):
    file = tmp_path / "benches.toml"
    file.write_text(text)
    with pytest.raises(BenchesError, match=said.replace(".", r"\.")) as caught:
        load_benches(file)
    assert "hush" not in str(caught.value)
