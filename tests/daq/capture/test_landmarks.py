"""What the pictures of a capture hang on: angles that are known, and none where none is."""

import numpy as np
import pytest

from daq.capture.base import Angle, Kind, Setup
from daq.capture.evaluate import new_capture
from daq.capture.turn import Turn
from tests.daq.capture.test_turn import BENT, LOBED, ONE_WAY, REST, path, runout, spun
from tests.generators.feeding import Floats, readings, turned


def seen_after(angle_turns: Floats, shape=BENT, setup: Setup = ONE_WAY):
    turn = Turn(setup)
    turn.feed(readings(*spun(angle_turns, shape)))
    return turn, turn.progress()


@pytest.mark.parametrize("shape", [BENT, LOBED], ids=["bent", "lobed"])
def test_what_came_again_gives_the_angles(shape):
    # A hand that turns, rests, and turns on more slowly.
    speed = np.concatenate([np.full(150, 0.4), np.zeros(75), np.full(250, 0.3), np.zeros(50)])
    angles = np.cumsum(speed) / 50.0
    _, progress = seen_after(angles, shape)
    assert progress.angle is Angle.REPEAT
    known = [each for each in progress.landmarks if each.turns is not None]
    assert len(known) >= 3
    true = np.interp([each.t_s for each in known], np.arange(len(angles)) / 50.0, angles)
    off = true - [each.turns for each in known]
    assert np.ptp(off) < 0.06
    assert [each.t_s for each in known] == sorted(each.t_s for each in known)


def test_no_angle_is_told_before_anything_came_again():
    _, progress = seen_after(path(REST, (0.8, 3.0)))
    assert progress.angle is Angle.NONE
    assert len(progress.landmarks) >= 2
    assert all(each.turns is None for each in progress.landmarks)


def test_no_angle_is_told_of_a_part_that_was_swayed():
    sway = path(REST, *[(by, 1.0) for by in (0.4, -0.4) * 5])
    _, progress = seen_after(sway, LOBED, Setup(resolution=0.0005))
    assert progress.angle is Angle.NONE


def test_landmarks_stand_at_the_level_of_the_readings():
    turn, progress = seen_after(path(REST, (2.5, 6.0), REST))
    span_mm = turn.result().measured.value
    level = [each.value for each in progress.landmarks if each.turns is not None]
    assert max(level) - min(level) == pytest.approx(span_mm, abs=0.002)
    assert -0.73 < min(level) < -0.67


def test_a_long_hand_makes_no_larger_picture():
    _, progress = seen_after(path(*[(by, 1.0) for by in (0.3, -0.2) * 60]), LOBED)
    assert len(progress.landmarks) <= 64


@pytest.mark.parametrize("down_s", [0.4, 1.0, 2.0, 4.0])
@pytest.mark.parametrize("shape", [BENT, LOBED], ids=["bent", "lobed"])
def test_the_way_onto_the_part_is_never_told_as_runout_so_far(shape, down_s):
    given, begun = set_down(down_s, path(REST, (2.0, 5.0), REST), shape)
    turn, told = Turn(ONE_WAY), []
    for reading in given:
        turn.feed([reading])
        told.append(turn.progress().value)
    shown = [value for value in told if value is not None]
    assert max(shown) <= runout(shape) + 0.0025
    # And it is told well before the turn is over.
    assert next(at for at, value in enumerate(told) if value is not None) < begun + 250


@pytest.mark.parametrize("down_s", [0.4, 1.0, 2.0, 4.0])
@pytest.mark.parametrize("turns", [0.5, 0.9, 1.3, 2.0])
def test_a_press_after_a_slow_way_down_keeps_no_way_as_runout(turns, down_s):
    given, _ = set_down(down_s, path(REST, (turns, 2.5 * turns)), BENT)
    got = turned(given, ONE_WAY)
    assert got.measured.value <= runout(BENT) + 0.001
    assert got.complete == (turns == 2.0)
    if got.complete:
        assert got.measured.value == pytest.approx(runout(BENT), abs=got.measured.expanded)


def test_a_press_before_the_part_is_there_keeps_nothing_of_the_way():
    given, begun = set_down(2.0, path(REST), BENT)
    for count in range(20, begun, 5):
        got = turned(given[:count], ONE_WAY)
        assert not got.complete
        assert got.measured.value < 0.3


@pytest.mark.parametrize("bend_mm", [0.2, 0.4, 0.8, 1.5])
def test_a_badly_bent_part_is_no_way(bend_mm):
    got = turned(readings(*spun(path(REST, (2.0, 5.0), REST), ((bend_mm, 0.4),))), ONE_WAY)
    assert got.complete
    assert got.measured.value == pytest.approx(2 * bend_mm, abs=got.measured.expanded)


def set_down(down_s, angles, shape):
    """Readings of a part set down as slowly as a careful hand does, and then turned; and how many
    of them are the way."""
    _, level_mm = spun(angles, shape)
    share = np.linspace(0, 1, int(down_s * 50))
    down_mm = level_mm[0] + 1.25 * (1 - share**2 * (3 - 2 * share))
    whole_mm = np.round(np.concatenate([down_mm, level_mm]) / 0.0005) * 0.0005
    return readings(np.arange(len(whole_mm)) / 50.0, whole_mm), len(down_mm)


def test_swings_are_told_apart_by_whether_they_count():
    t_s = np.arange(0.0, 8.0, 0.02)
    value_mm = np.round(0.05 * np.sin(np.pi * t_s / 1.6 + 0.7) ** 2 + 7.01, 3)
    rock = new_capture(Kind.ROCK, Setup(resolution=0.001), moved_first=False)
    rock.feed(readings(t_s, value_mm))
    progress = rock.progress()
    assert len(progress.landmarks) >= 3
    assert sum(each.counts for each in progress.landmarks) >= 3
    assert all(each.value == pytest.approx(7.01, abs=0.002) for each in progress.landmarks)


def test_swings_out_of_the_bore_are_not_told():
    t_s = np.arange(0.0, 12.0, 0.02)
    swing = 0.05 * np.sin(np.pi * t_s / 1.6 + 0.7) ** 2
    value_mm = np.round(np.where(t_s < 4.0, 7.9, 7.01) + swing, 3)
    rock = new_capture(Kind.ROCK, Setup(resolution=0.001), moved_first=False)
    rock.feed(readings(t_s, value_mm))
    progress = rock.progress()
    assert len(progress.landmarks) >= 3
    assert all(each.value < 7.1 for each in progress.landmarks)


def test_a_loss_has_a_start():
    t_s = np.arange(0.0, 30.0, 0.1)
    below_mbar = np.round(np.where(t_s < 5.0, 600.0, 600.0 * np.exp(-(t_s - 5.0) / 80.0)), 1)
    decay = new_capture(Kind.DECAY, Setup(resolution=0.1), moved_first=False)
    decay.feed(readings(t_s, below_mbar))
    (start,) = decay.progress().landmarks
    assert start.value == pytest.approx(600.0, abs=1.0)
    assert 0.0 <= start.t_s < 6.0
