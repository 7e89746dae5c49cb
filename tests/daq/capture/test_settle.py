"""Settle: what is still, and what only looks still."""

import math

import numpy as np
import pytest

from daq.capture.base import Hint, Kind, Setup
from daq.capture.evaluate import evaluate
from daq.capture.settle import Settle
from drivers.reading import Reading, State, Unit
from tests.generators.recordings import approached, made


def settled(values, *, rate_hz=20.0, step=0.001, moved_first=True, resolution=None, unit=Unit.MM):
    readings = made(values, rate_hz, step, unit)
    setup = Setup(resolution=resolution)
    return evaluate(Kind.SETTLE, readings, setup, moved_first=moved_first)


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize(("step", "noise"), [(0.001, 0.0003), (0.0001, 0.0002), (0.01, 0.001)])
def test_a_held_part_is_measured_within_its_uncertainty_twice(seed, step, noise):
    level = 7.98 + seed * 0.00037
    result = settled(approached(level, seed, noise), step=step)
    assert result.complete
    assert abs(result.measured.value - level) <= 2 * result.measured.expanded


def test_coverage_over_many_parts():
    inside = []
    for seed in range(200):
        level = 7.98 + seed * 0.000137
        result = settled(approached(level, seed))
        inside.append(abs(result.measured.value - level) <= result.measured.expanded)
    assert 0.92 <= np.mean(inside) <= 1.0


def test_an_idle_gauge_never_settles_when_it_must_have_moved_first():
    result = settled([9.5] * 500)
    assert not result.complete
    assert "idle" in result.reason


def test_one_glitch_is_no_movement():
    assert not settled([*[9.5] * 40, 3.0, *[9.5] * 100]).complete


def test_without_that_condition_stillness_is_enough():
    result = settled([9.5] * 40, moved_first=False)
    assert result.complete
    assert result.measured.value == pytest.approx(9.5)


def test_a_part_slid_in_from_over_range_counts_as_still_only_when_it_is():
    lost = [Reading("g", "", n / 20, math.nan, Unit.MM, State.OVER_RANGE) for n in range(30)]
    held = [r._replace(t_s=r.t_s + 2.0) for r in made([7.0] * 30)]
    result = evaluate(Kind.SETTLE, [*lost, *held], Setup())
    assert result.complete
    assert result.detail["readings_lost"] == 30


@pytest.mark.parametrize("rate_hz", [5.0, 20.0, 100.0])
@pytest.mark.parametrize("amplitude", [0.01, 0.05])
def test_a_turning_valve_never_settles(rate_hz, amplitude):
    seconds = np.arange(0, 20, 1 / rate_hz)
    values = 1.0 + amplitude * np.sin(2 * np.pi * seconds / 3.0)
    assert not settled(values, rate_hz=rate_hz, moved_first=False).complete


@pytest.mark.parametrize("speed_mm_s", [0.004, 0.02, 0.3])
def test_a_creeping_reading_never_settles(speed_mm_s):
    values = 5.0 + speed_mm_s * np.arange(0, 10, 0.05)
    assert not settled(values, moved_first=False).complete


def test_a_reading_on_the_edge_of_a_step_settles():
    chance = np.random.default_rng(3)
    values = 7.9995 + chance.normal(0, 0.0001, 60)
    result = settled(values, moved_first=False)
    assert result.complete
    assert result.measured.value == pytest.approx(7.9995, abs=0.0005)


@pytest.mark.parametrize("rate_hz", [3.0, 10.0, 1000.0])
def test_it_takes_time_and_count(rate_hz):
    readings = made([2.0] * int(3 * rate_hz), rate_hz)
    capture = Settle(Setup())
    for reading in readings:
        capture.feed([reading])
        if capture.done:
            break
    assert capture.done
    assert reading.t_s >= 0.7
    assert capture.result().detail["readings"] >= 5


def test_what_comes_after_changes_nothing():
    readings = made(approached())
    first = evaluate(Kind.SETTLE, readings, Setup(), moved_first=True)
    taken_away = [r._replace(t_s=r.t_s + 10.0) for r in made([9.5, 9.6, 11.0] * 20)]
    assert evaluate(Kind.SETTLE, [*readings, *taken_away], Setup(), moved_first=True) == first


def test_the_button_is_the_person_saying_now():
    readings = made([7.1, 7.2, 7.3])
    readings[1] = readings[1]._replace(commit=True)
    result = evaluate(Kind.SETTLE, readings, Setup(), moved_first=True)
    assert result.complete
    assert result.measured.value == 7.2
    assert result.detail["by"] == "button"


def test_a_button_without_a_number_is_nothing():
    pressed = Reading("g", "", 0.0, math.nan, Unit.MM, State.ERROR, commit=True)
    assert not evaluate(Kind.SETTLE, [pressed], Setup()).complete


def test_silence_is_no_stillness():
    capture = Settle(Setup())
    capture.feed(made([7.0, 7.0]))
    capture.rest(60.0)
    assert not capture.done


def test_a_load_in_newtons_settles_by_its_steps():
    values = [*np.linspace(0, 250, 40), *[250.0] * 40]
    result = settled(values, step=0.5, unit=Unit.NEWTON)
    assert result.complete
    assert result.measured.unit == "N"
    assert result.measured.value == pytest.approx(250.0)


def test_progress_asks_to_hold_still():
    capture = Settle(Setup(), moved_first=True)
    hints = []
    for reading in made(approached()):
        capture.feed([reading])
        hints.append(capture.progress().hint)
    assert hints[0] is Hint.BEGIN
    assert Hint.HOLD_STILL in hints
    assert hints[-1] is Hint.DONE
