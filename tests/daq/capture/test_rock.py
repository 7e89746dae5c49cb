"""Rock: the bore at the reversals that agree."""

import math

import numpy as np
import pytest

from daq.capture.base import Hint, Kind, Setup
from daq.capture.evaluate import evaluate
from daq.capture.rock import Rock
from daq.metrology.bore import shown_mm
from drivers.reading import Reading, State, Unit
from tests.generators.recordings import made, recorded, truths
from tests.generators.rocking import Rocking, rocked

TRUTH = truths("rock")


def shown_at_diameter_mm(row: dict[str, str]) -> float:
    """What the gauge shows at the true diameter, by comparison with the ring it was set in."""
    ring = float(row["setting_ring_mm"]) - float(row["shown_in_ring_mm"])
    return float(row["diameter_mm"]) - ring


@pytest.fixture(scope="module")
def recordings():
    """For each recording of the fixture: error and expanded uncertainty in mm, and the result."""
    found = {}
    for name, row in TRUTH.items():
        result = evaluate(Kind.ROCK, recorded("rock", name), Setup())
        error = result.measured.value - shown_at_diameter_mm(row) if result.measured else math.nan
        found[name] = (error, result.measured.expanded, result)
    return found


def test_recordings_are_right(recordings):
    errors = np.abs([error for error, _, _ in recordings.values()])
    assert np.mean(errors <= 0.0015) >= 0.95
    assert np.mean(errors <= 0.003) >= 0.99


def test_recordings_are_complete(recordings):
    assert np.mean([result.complete for _, _, result in recordings.values()]) >= 0.98


def test_the_uncertainty_is_honest_and_not_inflated(recordings):
    errors = np.array([error for error, _, _ in recordings.values()])
    expanded = np.array([u for _, u, _ in recordings.values()])
    assert np.mean(np.abs(errors) <= expanded) >= 0.93
    assert expanded.mean() <= 4 * math.sqrt((errors**2).mean())


@pytest.mark.parametrize("name", ["000.csv", "012.csv", "017.csv", "022.csv"])
def test_lost_contact_is_named_and_left_out(recordings, name):
    """These hold a sample far below the bore; least-of-all-readings would take it."""
    _, _, result = recordings[name]
    least = min(reading.value for reading in recorded("rock", name))
    assert least < shown_at_diameter_mm(TRUTH[name]) - 0.05
    assert least in [lost["value_mm"] for lost in result.detail["lost_contact"]]


@pytest.mark.parametrize("rate_hz", [10.0, 25.0, 100.0])
@pytest.mark.parametrize("step_mm", [0.0005, 0.001])
def test_another_hand_is_measured_right(rate_hz, step_mm):
    """The invented hand: pauses, turns back before upright, trembles, loses contact."""
    errors, expanded = [], []
    for seed in range(50):
        readings, truth = rocked(Rocking(rate_hz=rate_hz, step_mm=step_mm), seed)
        result = evaluate(Kind.ROCK, readings, Setup())
        if result.complete:
            errors.append(abs(result.measured.value - truth))
            expanded.append(result.measured.expanded)
    assert len(errors) >= 40
    assert np.mean(np.array(errors) <= 0.0015) >= 0.95
    assert np.mean(np.array(errors) <= np.array(expanded)) >= 0.9


def test_a_hand_that_turns_back_before_upright_does_not_make_the_bore_larger():
    for seed in range(15):
        readings, truth = rocked(Rocking(turned_back=0.4), seed)
        result = evaluate(Kind.ROCK, readings, Setup())
        assert result.measured.value == pytest.approx(truth, abs=0.0015)


def swinging(count: int, amplitude_deg: float = 6.0, rate_hz: float = 25.0) -> list[float]:
    """`count` passes through upright of an 8 mm bore, from the geometry of a tilted gauge."""
    seconds = np.arange(0, count * 0.9, 1 / rate_hz)
    tilts = amplitude_deg * np.cos(np.pi * seconds / 0.9)
    return [shown_mm(8.0, tilt) - 8.0 for tilt in tilts]


def test_the_value_is_the_diameter_not_the_least_reading():
    result = evaluate(Kind.ROCK, made(swinging(6)), Setup())
    assert result.complete
    assert result.measured.value == pytest.approx(0.0, abs=0.0003)


@pytest.mark.parametrize("passes", [1, 2])
def test_fewer_than_three_passes_are_not_enough(passes):
    result = evaluate(Kind.ROCK, made(swinging(passes)), Setup())
    assert not result.complete
    assert "3 are needed" in result.reason


def test_a_gauge_that_lies_still_measures_nothing():
    result = evaluate(Kind.ROCK, made([0.4] * 200), Setup())
    assert result.measured is None
    assert "not rocked" in result.reason


def test_a_gauge_pushed_in_and_pulled_out_measures_nothing_complete():
    way = [*np.linspace(0.5, 0.05, 20), *[0.05] * 30, *np.linspace(0.05, 0.5, 20)]
    assert not evaluate(Kind.ROCK, made(way), Setup()).complete


def test_swings_about_another_line_do_not_agree():
    """Half of the swings in one place, half where the bore is 12 um smaller."""
    here, there = swinging(4), [value - 0.012 for value in swinging(4)]
    result = evaluate(Kind.ROCK, made([*here, *there]), Setup())
    assert not result.complete
    assert "agree" in result.reason


def test_a_swing_too_fast_for_the_gauge_says_so():
    capture = Rock(Setup())
    capture.feed(made(swinging(12, rate_hz=3.0), rate_hz=3.0))
    result = capture.result()
    assert not result.complete
    assert capture.progress().hint in (Hint.SLOWER, Hint.BEGIN)


def test_progress_grows_until_done_and_nothing_is_taken_back():
    capture = Rock(Setup())
    shares = []
    for reading in made(swinging(10)):
        capture.feed([reading])
        shares.append(capture.progress().share)
    assert capture.done
    assert shares == sorted(shares)
    assert capture.progress().value == pytest.approx(0.0, abs=0.0005)


def test_a_silent_gauge_ends_a_capture_that_has_enough_and_no_other():
    few, enough = Rock(Setup()), Rock(Setup())
    few.feed(made(swinging(2)))
    enough.feed(made([*swinging(3), *np.linspace(0.05, 0.09, 5)]))
    assert not few.done
    assert not enough.done
    for capture in (few, enough):
        capture.rest(20.0)
    assert not few.done
    assert enough.done
    assert enough.result().complete


def test_the_way_out_ends_it_too():
    capture = Rock(Setup())
    capture.feed(made([*swinging(3), *np.linspace(0.06, 0.6, 12)]))
    assert capture.done


def test_odd_lobing_is_warned_of():
    result = evaluate(Kind.ROCK, made(swinging(6)), Setup())
    assert any("odd" in warning for warning in result.warnings)


@pytest.mark.parametrize("offset_mm", [-3.0, 0.25, 9.0])
def test_an_offset_moves_the_value_and_nothing_else(offset_mm):
    readings = recorded("rock", "014.csv")
    moved = [r._replace(value=round(r.value + offset_mm, 6)) for r in readings]
    plain, other = (evaluate(Kind.ROCK, each, Setup()) for each in (readings, moved))
    assert other.measured.value == pytest.approx(plain.measured.value + offset_mm, abs=2e-7)
    assert other.measured.u == pytest.approx(plain.measured.u, abs=2e-7)


@pytest.mark.parametrize("slower", [0.5, 2.0, 4.0])
def test_a_slower_hand_changes_nothing(slower):
    readings = recorded("rock", "014.csv")
    stretched = [r._replace(t_s=round(r.t_s * slower, 4)) for r in readings]
    plain, other = (evaluate(Kind.ROCK, each, Setup()) for each in (readings, stretched))
    assert other.measured.value == pytest.approx(plain.measured.value, abs=2e-6)


def test_lost_contact_that_lasts_is_no_bore():
    """A point off the wall for half a second: one low bottom against six that agree."""
    values = swinging(8)
    values[60:72] = [-0.2] * 12
    result = evaluate(Kind.ROCK, made(values), Setup())
    assert result.measured.value == pytest.approx(0.0, abs=0.0005)


def test_readings_over_range_between_swings_are_left_out():
    readings = made(swinging(6))
    lost = [
        Reading("g", "", r.t_s, math.nan, Unit.MM, State.OVER_RANGE) if 55 < n < 62 else r
        for n, r in enumerate(readings)
    ]
    result = evaluate(Kind.ROCK, lost, Setup())
    assert result.complete
    assert result.measured.value == pytest.approx(0.0, abs=0.0005)
