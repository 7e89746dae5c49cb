"""From bytes on a port to readings with time, unit and state."""

import math
from decimal import Decimal

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from drivers.gauge import Gauge, GaugeSpec, GaugeState, Speaks
from drivers.link import Chunk, LinkState, Start
from drivers.profile import SourceUnit, load_profile
from drivers.reading import Reading, State, Unit, on_value_grid


class Clock:
    """Time that stands where the test puts it."""

    def __init__(self) -> None:
        self.t_s = 100.0

    def __call__(self) -> float:
        return self.t_s


@pytest.fixture
def clock() -> Clock:
    return Clock()


def gauge_on(port, clock, profile="plain-line", **more) -> Gauge:
    return Gauge(GaugeSpec("dial", str(port.path), load_profile(profile), **more), clock)


async def tell(gauge, port, clock, data: bytes, after_s: float = 0.3) -> None:
    """Bytes after a pause, until the listener has dealt with them."""
    clock.t_s += after_s
    before = gauge.link.bytes_read
    assert port.write(data) == len(data)
    assert await gauge.link.drained(before + len(data))


async def test_lines_become_readings(port, listen, clock):
    gauge = gauge_on(port, clock)
    got = listen(gauge.batches())
    await gauge.link.opened()
    await tell(gauge, port, clock, b"+001.234\r\n")
    await tell(gauge, port, clock, b"-0.5\r\n+0.1 mm\r\n")
    assert got == [
        [Reading("dial", "", 100.3, 1.234, Unit.MM)],
        [Reading("dial", "", 100.6, -0.5, Unit.MM), Reading("dial", "", 100.6, 0.1, Unit.MM)],
    ]
    assert (gauge.readings, gauge.last) == (3, got[1][1])


async def test_half_a_line_after_opening_is_dropped_unless_it_was_quiet(port, listen, clock):
    gauge = gauge_on(port, clock)
    got = listen(gauge.batches())
    await gauge.link.opened()
    await tell(gauge, port, clock, b"1.234\r\n+2.000\r\n", after_s=0.1)
    assert [r.value for batch in got for r in batch] == [2.0]


async def test_half_a_line_before_a_loss_never_joins_what_comes_after(port, listen, clock, until):
    gauge = gauge_on(port, clock)
    got = listen(gauge.batches())
    await gauge.link.opened()
    await tell(gauge, port, clock, b"+1.000\r\n+1")
    port.unplug()
    await until(lambda: got[-1] == [])
    port.plug()
    await gauge.link.opened()
    await tell(gauge, port, clock, b"2.000\r\n+3.000\r\n", after_s=0.1)
    assert [[r.value for r in batch] for batch in got] == [[1.0], [], [3.0]]


async def test_a_loss_is_one_break_mark_and_none_before_the_first_reading(port, listen, until):
    clock = Clock()
    gauge = gauge_on(port, clock)
    got = listen(gauge.batches())
    await gauge.link.opened()
    port.unplug()
    await until(lambda: gauge.state is GaugeState.GONE)
    port.plug()
    await gauge.link.opened()
    await tell(gauge, port, clock, b"1\r\n")
    port.unplug()
    await until(lambda: len(got) == 2)
    port.plug()
    await gauge.link.opened()
    await tell(gauge, port, clock, b"2\r\n")
    assert [[r.value for r in batch] for batch in got] == [[1.0], [], [2.0]]


def hear(gauge: Gauge, data: bytes, t_s: float = 1.0, start: Start = Start.GOES_ON):
    utterance = gauge.voice.hear(Chunk(t_s, data, start))
    return [reading for segment in gauge.take(utterance) for reading in segment]


def offline(profile="plain-line", **more) -> Gauge:
    return Gauge(GaugeSpec("dial", "nowhere", load_profile(profile), **more), lambda: 0.0)


def test_bytes_lost_inside_never_make_a_number():
    gauge = offline()
    assert [r.value for r in hear(gauge, b"1.0\r\n+12")] == [1.0]
    assert hear(gauge, b"3.4\r\n", start=Start.TORN) == []
    assert [r.value for r in hear(gauge, b"5.6\r\n")] == [5.6]


def test_half_a_line_and_what_comes_after_a_pause_never_make_a_number():
    gauge = offline()
    assert hear(gauge, b"+1", 1.0) == []
    assert [r.value for r in hear(gauge, b"2.5\r\n", 1.2)] == [12.5]  # a hiccup on the way
    assert hear(gauge, b"+1", 2.0) == []
    assert hear(gauge, b"2.5\r\n", 2.3) == []  # lost its end, or was late: nobody knows
    assert [r.value for r in hear(gauge, b"+3.5\r\n", 2.4)] == [3.5]
    # Nothing begun is nothing to be lost, however long it was quiet.
    assert [r.value for r in hear(gauge, b"+4.5\r\n", 900.0)] == [4.5]


def test_time_never_goes_back_and_lies_on_its_grid():
    gauge = offline()
    times = [hear(gauge, b"1\r\n", t_s)[0].t_s for t_s in (1.00006, 2.0, 1.5, 2.00004)]
    assert times == [1.0001, 2.0, 2.0, 2.0]


@example(Decimal("-0.000000"))
@settings(deadline=None)
@given(st.decimals(-99999999, 99999999, places=6, allow_nan=False, allow_infinity=False))
def test_the_fast_way_to_a_float_is_the_one_on_the_grid(value):
    gauge = offline()
    (reading,) = hear(gauge, f"{value:+f}\r\n".encode())
    assert reading.value == on_value_grid(value)
    assert math.copysign(1, reading.value) == math.copysign(1, on_value_grid(value))


@settings(deadline=None)
@given(st.integers(-50_000, 50_000))
def test_inches_become_exact_millimetres(tenths):
    (reading,) = hear(offline("plain-line-inch"), b"%+.4f\r\n" % (tenths / 10_000))
    assert Decimal(repr(reading.value)) == Decimal(tenths) * Decimal("0.00254")
    assert reading.unit is Unit.MM


@pytest.mark.parametrize(
    ("unit", "value", "canonical"),
    [
        (SourceUnit.UM, 12.5, Unit.MM),
        (SourceUnit.DEG, 12500.0, Unit.DEG),
        (SourceUnit.MBAR, 12500.0, Unit.MBAR),
        (SourceUnit.KPA, 125000.0, Unit.MBAR),
        (SourceUnit.NEWTON, 12500.0, Unit.NEWTON),
        (SourceUnit.CELSIUS, 12500.0, Unit.CELSIUS),
    ],
)
def test_every_unit_becomes_its_canonical_one(unit, value, canonical):
    (reading,) = hear(offline(unit=unit), b"12500\r\n")
    assert (reading.value, reading.unit) == (value, canonical)


def test_a_gauge_that_counts_backwards_is_turned_round_without_a_minus_zero():
    gauge = offline(reverse=True)
    values = [r.value for r in hear(gauge, b"1.5\r\n-0.5\r\n0.000\r\n")]
    assert values == [-1.5, 0.5, 0.0]
    assert math.copysign(1, values[2]) == 1


def test_the_unit_given_for_the_gauge_rules_only_where_the_line_has_none():
    gauge = offline(unit=SourceUnit.INCH)
    assert [r.value for r in hear(gauge, b"1\r\n1 mm\r\n")] == [25.4, 1.0]


def test_states_carry_no_number_and_channels_are_kept_apart():
    gauge = offline("comma-line", channel="B")
    readings = hear(gauge, b"A 1,5\rB 2,5\rB OVER\rA ERR\r")
    assert [(r.channel, r.state) for r in readings] == [("B", State.OK), ("B", State.OVER_RANGE)]
    assert readings[0].value == 2.5
    assert math.isnan(readings[1].value)
    assert len(hear(offline("comma-line"), b"A 1,5\rB 2,5\r")) == 2


def test_a_gauge_that_speaks_on_its_button_commits():
    assert hear(offline(speaks=Speaks.BUTTON), b"1.5\r\n")[0].commit
    assert not hear(offline(), b"1.5\r\n")[0].commit


async def test_states_of_a_streaming_gauge(port, listen, clock, until):
    gauge = gauge_on(port, clock)
    assert gauge.state is GaugeState.GONE
    assert "has not been opened" in gauge.trouble
    listen(gauge.batches())
    await gauge.link.opened()
    assert gauge.state is GaugeState.SPEAKING
    clock.t_s += 1.1
    assert gauge.state is GaugeState.SILENT
    assert "has said nothing for 1 s" in gauge.trouble
    for _ in range(8):
        await tell(gauge, port, clock, b"1\r\n", after_s=0.4)
    assert (gauge.state, gauge.trouble) == (GaugeState.SPEAKING, "")
    assert gauge.silent_after_s() == pytest.approx(2.0, abs=1e-6)
    clock.t_s += 1.9
    assert gauge.state is GaugeState.SPEAKING
    clock.t_s += 0.2
    assert gauge.state is GaugeState.SILENT
    port.unplug()
    await until(lambda: gauge.state is GaugeState.GONE)
    assert "Plug the gauge in" in gauge.trouble


async def test_a_button_gauge_waits_and_is_never_silent(port, listen, clock):
    gauge = gauge_on(port, clock, speaks=Speaks.BUTTON)
    listen(gauge.batches())
    await gauge.link.opened()
    clock.t_s += 3600
    assert (gauge.state, gauge.trouble) == (GaugeState.WAITING, "")


async def test_what_is_not_understood_is_shown(port, listen, clock):
    gauge = gauge_on(port, clock)
    got = listen(gauge.batches())
    await gauge.link.opened()
    await tell(gauge, port, clock, b"hello\r\nworld\r\n")
    assert got == []
    assert "does not understand" in gauge.trouble
    assert "hello" in gauge.trouble
    assert gauge.wire.rejected_bytes == 10


async def test_a_flood_grows_nothing_and_the_next_line_is_read(port, listen, clock):
    gauge = gauge_on(port, clock)
    got = listen(gauge.batches())
    await gauge.link.opened()
    clock.t_s += 0.3  # it was quiet before
    for _ in range(50):
        await tell(gauge, port, clock, b"9" * 2000, after_s=0.01)
    await tell(gauge, port, clock, b"\r\n+1.5\r\n", after_s=0.01)
    assert [r.value for batch in got for r in batch] == [1.5]
    assert gauge.wire.rejected_bytes == 100_000
    assert gauge.link.state is LinkState.OPEN


def test_what_a_gauge_was_switched_to_is_converted_noted_and_parted_by_a_break():
    gauge = offline()
    segments = gauge.take(gauge.voice.hear(Chunk(1.0, b"1.27 mm\r\n0.05 in\r\n0.051 in\r\n")))
    assert [[r.value for r in segment] for segment in segments] == [[1.27], [1.27, 1.2954]]
    assert gauge.note == "dial was switched from mm to in; its numbers are converted."
    # A status between two numbers is no switch.
    assert len(gauge.take(gauge.voice.hear(Chunk(1.1, b"0.05 in\r\n")))) == 1
    assert offline().note == ""


async def test_a_switch_of_the_unit_is_a_break_mark(port, listen, clock):
    gauge = gauge_on(port, clock)
    got = listen(gauge.batches())
    await gauge.link.opened()
    await tell(gauge, port, clock, b"1.27 mm\r\n0.05 in\r\n")
    await tell(gauge, port, clock, b"0.05 in\r\n")
    await tell(gauge, port, clock, b"1.27 mm\r\n")
    assert [[r.value for r in batch] for batch in got] == [[1.27], [], [1.27], [1.27], [], [1.27]]


@pytest.mark.parametrize(("before", "after"), [(b"12.700", b"0.5000"), (b"-25.41", b"-1.0004")])
def test_a_gauge_that_turns_to_inches_without_a_word_is_doubted_until_it_turns_back(before, after):
    gauge = offline()
    assert hear(gauge, before + b"\r\n")[0].state is State.OK
    (doubted,) = hear(gauge, after + b"\r\n")
    assert (doubted.state, math.isnan(doubted.value)) == (State.ERROR, True)
    assert hear(gauge, after[:-1] + b"5\r\n")[0].state is State.ERROR
    gauge.link.state = LinkState.OPEN
    assert "switched to in" in gauge.trouble
    assert hear(gauge, before + b"\r\n")[0].state is State.OK
    assert "switched" not in gauge.trouble


def test_it_is_seen_inside_a_chunk_and_from_inches_too_and_forgotten_when_opened_anew():
    gauge = offline("plain-line-inch")
    assert {r.state for r in hear(gauge, b"0.5000\r\n0.5000\r\n12.700\r\n")} == {State.ERROR}
    opened = Chunk(9.0, b"12.700\r\n", Start.OPENED, 1.0)
    ((reading,),) = gauge.take(gauge.voice.hear(opened))
    assert reading.state is State.OK


@pytest.mark.parametrize(
    "said",
    [
        b"12.700\r\n0.500\r\n",  # the same decimals: moved
        b"12.700\r\n0.5100\r\n",  # not 25.4 apart
        b"0.013\r\n0.0005\r\n",  # too near to zero to tell
        b"12.70 mm\r\n0.5000 mm\r\n",  # it says so
        b"1.5\r\n1.25\r\n-0.125\r\n",  # zeros at the end are left out
    ],
)
def test_what_is_no_switch_is_not_doubted(said):
    assert {r.state for r in hear(offline(), said)} == {State.OK}


async def test_garbage_after_good_readings_is_told_once_the_gauge_is_silent(port, listen, clock):
    gauge = gauge_on(port, clock)
    listen(gauge.batches())
    await gauge.link.opened()
    await tell(gauge, port, clock, b"1.5\r\n")
    await tell(gauge, port, clock, b"hello\r\n")
    assert gauge.trouble == ""
    clock.t_s += 1
    assert "does not understand: b'hello" in gauge.trouble


def test_a_message_of_the_data_key_commits_and_others_of_the_same_gauge_do_not():
    gauge = offline("frame-checked", channel="1")
    pressed = bytes.fromhex("aa 55 08 39 30 00 00 01 8e")
    streamed = bytes.fromhex("aa 55 00 39 30 00 00 01 96")
    readings = hear(gauge, pressed + streamed)
    assert [(r.value, r.commit) for r in readings] == [(1.2345, True), (1.2345, False)]
