"""Leaving: a part that stays must never pass for one that left."""

import math

import numpy as np
import pytest

from daq.capture.band import Band
from daq.capture.base import Captured, Kind, Setup
from daq.capture.evaluate import evaluate
from daq.capture.leaving import Leaving
from daq.metrology.measured import Measured
from drivers.reading import Reading, State, Unit
from tests.generators.recordings import made, recorded

RUNOUT = 0.06


def turning(seconds: float, rate_hz: float = 20.0, level: float = 1.0, runout: float = RUNOUT):
    angle = 2 * np.pi * np.arange(0, seconds, 1 / rate_hz) / 3.0
    return level + runout / 2 * np.sin(angle)


def later(readings: list[Reading], by_s: float) -> list[Reading]:
    return [reading._replace(t_s=round(reading.t_s + by_s, 4)) for reading in readings]


def after_turn(rate_hz: float = 20.0, runout: float = RUNOUT) -> Leaving:
    captured = Captured(Kind.TURN, Measured(runout, "mm"), complete=True)
    trace = made([*[0.4] * 30, *turning(6.0, rate_hz, runout=runout)], rate_hz)
    return Leaving(Kind.TURN, Band.of(captured, trace), Setup(resolution=0.001))


@pytest.mark.parametrize("rate_hz", [3.0, 20.0, 200.0])
@pytest.mark.parametrize("runout", [0.004, 0.06, 0.4])
def test_a_valve_that_goes_on_turning_has_not_left(rate_hz, runout):
    leaving = after_turn(rate_hz, runout)
    leaving.feed(made(turning(60.0, rate_hz, runout=runout), rate_hz))
    assert not leaving.left


@pytest.mark.parametrize("samples", [1, 2, 3])
@pytest.mark.parametrize("height", [0.3, -2.0])
def test_lint_is_not_leaving(samples, height):
    values = turning(30.0)
    for start in range(20, 580, 40):
        values[start : start + samples] += height
    leaving = after_turn()
    leaving.feed(made(values))
    assert not leaving.left


@pytest.mark.parametrize("rate_hz", [3.0, 20.0, 200.0])
@pytest.mark.parametrize("drop", [0.45, -0.45])
def test_a_valve_taken_out_has_left(rate_hz, drop):
    leaving = after_turn(rate_hz)
    leaving.feed(made([*turning(2.0, rate_hz), *[1.0 - drop] * int(2 * rate_hz)], rate_hz))
    assert leaving.left


def test_contact_lost_is_leaving_and_a_flat_battery_is_not():
    for state, left in ((State.OVER_RANGE, True), (State.LOW_BATTERY, False), (State.ERROR, False)):
        leaving = after_turn()
        leaving.feed([Reading("g", "", n / 20, math.nan, Unit.MM, state) for n in range(20)])
        assert leaving.left is left


def test_silence_is_not_leaving():
    leaving = after_turn()
    leaving.feed([])
    assert not leaving.left


def test_any_cut_gives_the_same():
    readings = made([*turning(2.0), *[0.4] * 40, *turning(3.0)])
    whole = after_turn()
    whole.feed(readings)
    piecewise = after_turn()
    for reading in readings:
        piecewise.feed([reading])
    assert (whole.left, whole.arrived) == (piecewise.left, piecewise.arrived) == (True, True)


def test_the_next_part_arrives_and_an_idle_gauge_does_not():
    leaving = after_turn()
    leaving.feed(made([0.4] * 60))
    assert leaving.left
    assert not leaving.arrived
    leaving.feed(later(made([0.4] * 200), 3.0))
    assert not leaving.arrived
    leaving.feed(later(made(turning(2.0, level=0.9)), 14.0))
    assert leaving.arrived


def test_a_much_larger_part_arrives_by_leaving_the_idle_level():
    leaving = after_turn()
    leaving.feed(made([0.4] * 60))
    leaving.feed(later(made([2.6] * 20), 3.0))
    assert leaving.arrived


def test_a_plunger_that_bounces_on_its_way_down_is_no_arrival():
    leaving = after_turn()
    leaving.feed(made([0.4, 0.45, 0.2, 0.5, 0.3, 0.42, 0.38, *[0.4] * 60]))
    assert leaving.left
    assert not leaving.arrived


def held(level: float = 7.984) -> Leaving:
    readings = made([9.5] * 20 + [level] * 40)
    result = evaluate(Kind.SETTLE, readings, Setup(resolution=0.001), moved_first=True)
    return Leaving(Kind.SETTLE, Band.of(result, readings), Setup(resolution=0.001))


def test_a_held_part_that_trembles_has_not_left_and_an_opened_micrometer_has():
    chance = np.random.default_rng(1)
    leaving = held()
    leaving.feed(made(7.984 + chance.normal(0, 0.002, 400)))
    assert not leaving.left
    leaving.feed(later(made([8.4] * 10), 20.0))
    assert leaving.left


def test_a_micrometer_that_closes_further_has_not_left_before_it_closed_on_nothing():
    readings = made([9.5] * 20 + [7.05] * 40)
    result = evaluate(Kind.SETTLE, readings, Setup(resolution=0.001), moved_first=True)
    band = Band.of(result, readings)
    leaving = Leaving(Kind.SETTLE, band, Setup(resolution=0.001), least=6.47)
    leaving.feed(made([6.97] * 40))
    assert not leaving.left
    leaving.feed(later(made([6.4] * 10), 10.0))
    assert leaving.left


@pytest.mark.parametrize("name", ["000.csv", "014.csv", "039.csv"])
def test_a_bore_gauge_still_rocked_is_in_the_bore_and_one_pulled_out_is_not(name):
    """The recordings end with the way out; what is before it, again, is no leaving."""
    readings = recorded("rock", name)
    result = evaluate(Kind.ROCK, readings, Setup())
    band = Band.of(result, readings)
    inside = [r for r in readings if r.value <= result.detail["swing_top"] + 0.02]
    leaving = Leaving(Kind.ROCK, band, Setup())
    leaving.feed(inside)
    assert not leaving.left
    free = [r._replace(t_s=r.t_s + 20.0, value=band.high + 0.5) for r in readings[:20]]
    leaving.feed(free)
    assert leaving.left


def test_a_vented_part_has_left_and_one_that_leaks_on_has_not():
    readings = recorded("decay", "005.csv")
    result = evaluate(Kind.DECAY, readings, Setup())
    leaving = Leaving(Kind.DECAY, Band.of(result, readings), Setup())
    leaving.feed(readings)
    assert not leaving.left
    leaving.feed(later(made([0.3] * 10, 10.0, 0.1, Unit.MBAR), 60.0))
    assert leaving.left


def test_a_look_has_no_part_on_a_gauge():
    look = Captured(Kind.LOOK, Measured(1.0, "1"), complete=True)
    assert Leaving(Kind.LOOK, Band.of(look, []), Setup()).left


@pytest.mark.parametrize("kind", [Kind.TURN, Kind.ROCK, Kind.SETTLE])
def test_after_a_capture_that_saw_nothing_the_same_readings_are_no_leaving(kind):
    readings = made([1.0] * 50)
    nothing = Captured(kind, None, complete=False, reason="Nothing.")
    leaving = Leaving(kind, Band.of(nothing, readings), Setup())
    leaving.feed(readings)
    assert not leaving.left


@pytest.mark.parametrize("kind", [Kind.TURN, Kind.ROCK, Kind.SETTLE])
def test_without_any_number_only_over_range_shows_it(kind):
    nothing = Captured(kind, None, complete=False, reason="Nothing.")
    leaving = Leaving(kind, Band.of(nothing, []), Setup())
    leaving.feed(made([1.0] * 50))
    assert not leaving.left
    leaving.feed(
        [Reading("g", "", 5 + n / 20, math.nan, Unit.MM, State.OVER_RANGE) for n in range(9)]
    )
    assert leaving.left
