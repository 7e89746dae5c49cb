"""Several gauges on one port: each hears its own channel, and they come and go together."""

import asyncio
import time

import pytest

from drivers.gauge import GaugeSpec, GaugeState, gauges_of
from drivers.gauge import voice as voice_module
from drivers.gauge.voice import Utterance
from drivers.link import Chunk
from drivers.profile import load_profile, parse_profile
from drivers.reading import State
from drivers.wires.base import Heard


def box_on(port, *channels: str, profile="comma-line"):
    specs = [
        GaugeSpec(f"gauge {c}", str(port.path), load_profile(profile), channel=c) for c in channels
    ]
    return gauges_of(specs, time.monotonic)


def values(batches):
    return [[r.value for r in batch] for batch in batches]


async def test_one_port_is_opened_once_and_each_gauge_hears_its_channel(port, listen, until):
    gauges = box_on(port, "A", "B")
    got = [listen(gauge.batches()) for gauge in gauges]
    assert gauges[0].link is gauges[1].link
    await gauges[0].link.opened()
    await asyncio.sleep(0.3)
    port.write(b"A 1,5 mm\rB 2,5 mm\rB OVER\rA 1,6 mm\r")
    await until(lambda: all(got))
    assert values(got[0]) == [[1.5, 1.6]]
    assert [(r.gauge, r.channel, r.state) for r in got[1][0]] == [
        ("gauge B", "B", State.OK),
        ("gauge B", "B", State.OVER_RANGE),
    ]
    # Only one of them speaks: the other is silent, not fresh.
    gauges[1].silent_after_s = lambda: 0.02
    gauges[0].silent_after_s = lambda: 0.5
    await asyncio.sleep(0.05)
    port.write(b"A 1,5 mm\r")
    await until(lambda: len(got[0]) == 2)
    assert [g.state for g in gauges] == [GaugeState.SPEAKING, GaugeState.SILENT]


async def test_a_loss_breaks_every_gauge_of_the_box(port, listen, until):
    gauges = box_on(port, "A", "B")
    got = [listen(gauge.batches()) for gauge in gauges]
    await gauges[0].link.opened()
    await asyncio.sleep(0.3)
    port.write(b"A 1,5 mm\rB 2,5 mm\rA 1,")
    await until(lambda: all(got))
    port.unplug()
    await until(lambda: all(each[-1] == [] for each in got))
    assert {g.state for g in gauges} == {GaugeState.GONE}
    port.plug()
    await gauges[0].link.opened()
    await asyncio.sleep(0.3)
    port.write(b"7 mm\rA 3,5 mm\rB 4,5 mm\r")
    await until(lambda: all(len(each) == 3 for each in got))
    assert [values(each) for each in got] == [[[1.5], [], [3.5]], [[2.5], [], [4.5]]]


async def test_one_leaving_does_not_take_the_port_from_the_other(port, listen, until):
    first, second = box_on(port, "A", "B")
    leaving = first.batches()
    task = asyncio.ensure_future(anext(leaving))
    got = listen(second.batches())
    await first.link.opened()
    await asyncio.sleep(0.3)
    port.write(b"A 1,5 mm\r")
    assert values([await task]) == [[1.5]]
    await leaving.aclose()
    port.write(b"B 2,5 mm\r")
    await until(lambda: bool(got))
    assert second.state is GaugeState.SPEAKING
    second.stop()
    await until(lambda: second.state is GaugeState.GONE)


async def test_a_gauge_that_nobody_takes_from_holds_only_so_much(port, listen, until, monkeypatch):
    monkeypatch.setattr(voice_module, "QUEUE_CHUNKS_MAX", 4)
    first, second = box_on(port, "A", "B")
    stuck = first.batches()
    opening = asyncio.ensure_future(anext(stuck))
    got = listen(second.batches())
    await first.link.opened()
    await asyncio.sleep(0.3)
    port.write(b"A 1,5 mm\r")
    await opening
    for _ in range(20):
        port.write(b"B 2,5 mm\r")
        await asyncio.sleep(0.002)
    await until(lambda: sum(map(len, got)) > 0)
    assert sum(map(len, got)) < 20
    # It leaves, and the other one hears what was held back.
    await stuck.aclose()
    await until(lambda: sum(map(len, got)) == 20)


def test_gauges_that_do_not_agree_on_their_port_are_refused():
    specs = [
        GaugeSpec("a", "/dev/x", load_profile("comma-line"), channel="A"),
        GaugeSpec("b", "/dev/x", load_profile("plain-line"), channel="B"),
    ]
    with pytest.raises(ValueError, match="one port speaks one way"):
        gauges_of(specs, time.monotonic)


TWO_A_LINE = """
about = "invented, two numbers an answer"
wire = "ask"
unit = "mm"
[ask]
request = "?\\r"
period_s = 0.01
[picture]
line = "{number:A};{number:B}"
status_words = { ERR = "error" }
"""


async def test_an_answer_with_two_numbers_is_whole_when_both_are_there(port, listen, until):
    profile = parse_profile(TWO_A_LINE, "two", "two.toml")
    assert (profile.answers, profile.channels) == (2, ("A", "B"))
    specs = [GaugeSpec(c, str(port.path), profile, channel=c) for c in "AB"]
    gauges = gauges_of(specs, time.monotonic)
    got = [listen(gauge.batches()) for gauge in gauges]
    answers = iter([b"1.5;2.5\r\n", b"1.6;ERR\r\n", b"ERR\r\n"])

    def answered() -> bool:
        if port.read() and (answer := next(answers, b"")):
            port.write(answer)
        return all(len(each) == 3 for each in got)

    await until(answered)
    ok, error = State.OK, State.ERROR
    assert [r.state for batch in got[0] for r in batch] == [ok, ok, error]
    assert [r.state for batch in got[1] for r in batch] == [ok, error, error]
    assert gauges[0].voice.asking.unasked == 0


def test_trouble_that_names_no_channel_is_everybodys():
    profile = parse_profile(TWO_A_LINE, "two", "two.toml")
    specs = [GaugeSpec(c, "nowhere", profile, channel=c) for c in "AB"]
    utterance = Utterance(Chunk(1.0, b""), [Heard([""], state=State.ERROR), Heard(["1"])])
    for gauge in gauges_of(specs, lambda: 0.0):
        assert [[r.state for r in segment] for segment in gauge.take(utterance)] == [[State.ERROR]]
