"""Asking: what counts as an answer, and what comes too late for it."""

import asyncio
import time
from math import inf

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drivers.gauge import Gauge, GaugeSpec, GaugeState
from drivers.gauge.asking import SETTLE_S, TRIES_MAX, Asking
from drivers.profile import parse_profile


def test_it_asks_by_the_clock_and_not_again_before_the_answer():
    asking = Asking(0.1, 0.5)
    assert asking.wait_s(10.0) == 0
    asking.asked(10.0)
    assert asking.wait_s(10.2) == pytest.approx(0.3)
    assert asking.heard(10.25, 1) == 1
    assert asking.wait_s(10.3) == 0
    asking.asked(10.3)
    assert asking.heard(10.31, 1) == 1
    assert asking.wait_s(10.32) == pytest.approx(0.08)
    assert (asking.unanswered, asking.unasked) == (0, 0)


def test_it_waits_until_an_opened_port_has_settled():
    asking = Asking(0.1, 0.5)
    asking.asked(9.0)
    asking.restart(10.0)
    assert asking.wait_s(10.0) == pytest.approx(SETTLE_S)
    assert asking.wait_s(10.0 + SETTLE_S) == 0


def test_a_late_answer_is_never_taken_for_the_next_one():
    asking = Asking(0.1, 0.5)
    asking.asked(10.0)
    assert asking.wait_s(10.5) == 0
    assert (asking.unanswered, asking.in_step) == (1, False)
    asking.asked(10.5)  # a trial; now the late answer comes, then the trial's own
    assert asking.heard(10.6, 1) == 0
    assert asking.heard(10.9, 1) == 0
    assert asking.wait_s(11.0) == pytest.approx(0.5)
    assert asking.wait_s(11.5) == 0
    assert asking.in_step
    asking.asked(11.5)
    assert asking.heard(11.6, 1) == 1


def test_what_comes_unasked_is_not_believed_and_asks_for_a_trial():
    asking = Asking(1.0, 0.5, answers=2)
    assert asking.heard(9.0, 1) == 0
    assert (asking.unasked, asking.in_step) == (1, False)
    asking.restart(9.0)
    asking.asked(10.0)
    assert asking.heard(10.1, 3) == 2
    assert (asking.unasked, asking.in_step) == (2, False)
    # Bytes without a reading are no answer, and nothing unasked.
    asking.restart(10.2)
    assert asking.heard(10.3, 0) == 0
    assert asking.in_step


def test_on_demand_it_is_asked_once_and_given_up_after_its_tries():
    asking = Asking(None, 0.5)
    assert asking.wait_s(10.0) == inf
    asking.want()
    assert asking.wait_s(10.0) == 0
    asking.asked(10.0)
    assert asking.heard(10.2, 1) == 1
    assert not asking.wanted
    assert asking.give_up()
    asking.want()
    for tried in range(TRIES_MAX):
        assert asking.wanted
        assert asking.wait_s(11.0 + tried) == 0
        asking.asked(11.0 + tried)
        assert asking.wait_s(11.5 + tried) == (0 if tried < TRIES_MAX - 1 else inf)
    assert not asking.wanted
    assert not asking.give_up()


@settings(deadline=None)
@given(late=st.lists(st.floats(0.001, 0.999), min_size=1, max_size=30))
def test_whatever_the_delays_no_answer_is_taken_for_another_request(late):
    """A box answers everything in order, each after its own delay, some after its time.

    Delays stay under two times the timeout: what is slower can be told by nobody.
    """
    asking, now = Asking(0.05, 0.5), 0.0
    coming: list[tuple[float, int]] = []  # when, and the request that it answers
    for request, delay in enumerate(late):
        while (wait_s := asking.wait_s(now)) > 0:
            arrival = coming[0][0] if coming else inf
            if arrival <= now + wait_s:
                now, answers = coming.pop(0)
                assert asking.heard(now, 1) == 0 or answers == request - 1
            else:
                now += wait_s
        asking.asked(now)
        arrival = max(now + delay, coming[-1][0] if coming else 0.0)
        coming.append((arrival, request))


ASKING = """
about = "invented, asked often"
wire = "ask"
unit = "mm"
[ask]
request = "?\\r"
period_s = 0.01
timeout_s = 0.1
"""


def asked_gauge(port, text=ASKING, **more) -> Gauge:
    profile = parse_profile(text, "asking", "asking.toml")
    return Gauge(GaugeSpec("dial", str(port.path), profile, **more), time.monotonic)


class Answering:
    """A pretend gauge that answers each request with what is next."""

    def __init__(self, port, end: bytes = b"\r") -> None:
        self.port = port
        self.asked: list[bytes] = []
        self._end = end
        self._heard = b""

    def requests(self) -> list[bytes]:
        self._heard += self.port.read()
        *whole, self._heard = self._heard.split(self._end)
        self.asked += whole
        return whole


async def test_an_asked_gauge_is_asked_again_only_after_it_answered(port, listen, until):
    gauge = asked_gauge(port)
    got = listen(gauge.batches())
    box = Answering(port)
    await until(lambda: bool(box.requests()))
    await asyncio.sleep(0.03)
    assert box.requests() == []
    port.write(b"0.2\r\n")
    await until(lambda: bool(got))
    assert [(r.value, r.commit) for r in got[0]] == [(0.2, False)]
    await until(lambda: bool(box.requests()))
    # An answer that never comes is given up, and the gauge asked again.
    await until(lambda: bool(box.requests()))
    assert gauge.voice.asking.unanswered >= 1
    assert "has not answered" in gauge.voice.silence(1.0)


async def test_an_answer_after_its_time_is_dropped_and_half_an_answer_joins_on_nothing(
    port, listen, until
):
    gauge = asked_gauge(port)
    got = listen(gauge.batches())
    box = Answering(port)
    await until(lambda: bool(box.requests()))
    port.write(b"1")  # the rest comes never
    await until(lambda: gauge.voice.asking.unanswered == 1)
    port.write(b"7.5\r\n")  # late, while the trial is open
    await until(lambda: gauge.voice.asking.in_step)
    await until(lambda: bool(box.requests()))
    port.write(b"2.5\r\n")
    await until(lambda: bool(got))
    assert [r.value for batch in got for r in batch] == [2.5]


BOX = """
about = "invented, a box asked for one gauge after the other"
wire = "ask"
unit = "mm"
[ask]
channels = { A = "A?\\r", B = "B?\\r" }
period_s = 0.005
timeout_s = 0.1
"""


async def test_a_box_that_is_asked_by_channel_gives_each_answer_to_its_gauge(port, listen, until):
    gauge = asked_gauge(port, BOX)
    got = listen(gauge.batches())
    box = Answering(port)
    values = {b"A?": b"1.5\r\n", b"B?": b"2.5\r\n"}

    def answered() -> bool:
        for request in box.requests():
            port.write(values[request])
        return len(got) >= 10

    await until(answered)
    assert {(r.channel, r.value) for batch in got for r in batch} == {("A", 1.5), ("B", 2.5)}


ON_DEMAND = ASKING.replace("period_s = 0.01", "on_demand = true")


async def test_on_demand_the_answer_is_a_commit_and_the_gauge_waits(port, listen, until):
    gauge = asked_gauge(port, ON_DEMAND)
    got = listen(gauge.batches())
    await gauge.link.opened()
    assert gauge.state is GaugeState.WAITING
    box = Answering(port)
    asked = asyncio.create_task(gauge.ask_now())
    await until(lambda: bool(box.requests()))
    port.write(b"3.5\r\n")
    assert await asked
    assert [(r.value, r.commit) for batch in got for r in batch] == [(3.5, True)]
    assert not await gauge.ask_now()  # nobody answers
    assert len(box.requests()) == TRIES_MAX
    with pytest.raises(TypeError, match="nothing to ask with"):
        await asked_gauge(port, ASKING.replace('"ask"', '"line"').split("[ask]")[0]).ask_now()
