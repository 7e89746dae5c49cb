"""What a gauge types, on its way through the page."""

import time

from drivers.gauge import Gauge, GaugeSpec, GaugeState
from drivers.link import keys as keys_module
from drivers.profile import load_profile
from drivers.reading import State


def typing() -> Gauge:
    return Gauge(GaugeSpec("caliper", "keys:", load_profile("typed-number")), time.monotonic)


async def test_typed_text_becomes_readings_that_commit(listen, until):
    gauge = typing()
    assert gauge.state is GaugeState.GONE
    assert not gauge.link.type("1.5\n")  # nobody listens
    got = listen(gauge.batches())
    await gauge.link.opened()
    assert gauge.state is GaugeState.WAITING
    for text in ("12.3", "45\n", "-0,5\t", "Error\n", "12€\n"):
        assert gauge.link.type(text)
    assert await gauge.link.drained(gauge.link.bytes_read)
    readings = [r for batch in got for r in batch]
    assert [(r.value, r.commit) for r in readings[:2]] == [(12.345, True), (-0.5, True)]
    assert [r.state for r in readings] == [State.OK, State.OK, State.ERROR]
    assert gauge.wire.last_rejected == b"12?\n"
    assert not await gauge.link.write(b"?")
    gauge.stop()
    await until(lambda: gauge.state is GaugeState.GONE)
    assert not await gauge.link.drained(1)


async def test_what_waits_is_limited_and_a_stop_ends_it_all_the_same(until, monkeypatch):
    monkeypatch.setattr(keys_module, "CHUNKS_MAX", 3)
    gauge = typing()
    chunks = gauge.link.chunks()
    gauge.link.state = "open"
    assert [gauge.link.type("1\n") for _ in range(4)] == [True, True, True, False]
    assert gauge.link.overflows == 1
    assert (await anext(chunks)).data == b"1\n"
    gauge.stop()
    assert [chunk async for chunk in chunks] == []
