"""The steps of a turn one by one: swings, slips, levels, marks, mirrors. All data invented."""

import numpy as np
import pytest

from daq.capture.base import Setup
from daq.capture.turn import level, lint, marks, mirror, noise, period, points, simplify, trim
from tests.generators.feeding import readings, turned


def test_zigzag_finds_swings_larger_than_asked_and_no_others() -> None:
    line = np.array([0, 1, 2, 1.9, 2.1, 1, 0, 0.2, 0, 3, 2.0, 1.0])
    assert points.zigzag(line, 0.5) == [0, 4, 6, 9, 11]
    assert points.zigzag(line, 5.0) == [0]
    assert points.zigzag(np.zeros(7), 0.1) == [0]


def test_zigzag_of_a_fall_begins_where_the_fall_begins() -> None:
    assert points.zigzag(np.array([1.0, 1.1, 0.0, -1.0, 0.5]), 0.5) == [1, 3, 4]


@pytest.mark.parametrize("sigma_mm", [0.0002, 0.001])
def test_noise_is_found_in_spite_of_turning(sigma_mm: float) -> None:
    rng = np.random.default_rng(2)
    angle = np.concatenate([np.zeros(200), np.linspace(0, 4 * np.pi, 400), np.full(200, 0.0)])
    seen = 0.05 * np.cos(angle) + rng.normal(0, sigma_mm, len(angle))
    assert noise.noise_mm(seen, 0.0) == pytest.approx(sigma_mm, rel=0.25)


def test_noise_is_never_less_than_rounding() -> None:
    assert noise.noise_mm(np.zeros(50), 0.001) == pytest.approx(0.001 / np.sqrt(12))


@pytest.mark.parametrize("step_mm", [0.0001, 0.0005, 0.001, 0.00254, 0.01])
def test_the_step_is_found_from_the_readings(step_mm: float) -> None:
    rng = np.random.default_rng(3)
    assert noise.step_mm(np.round(rng.normal(0, 0.02, 300) / step_mm) * step_mm) == step_mm


def test_a_slip_is_taken_out_and_the_trace_ends_stay() -> None:
    levels = np.array([5.0, 10.0, 0.0, 6.0, 4.0, 10.0, 0.0, 3.0])
    whole, simpler = simplify.orders(levels, 0, swings_max=1)
    assert whole.taken_mm == ()
    assert simpler.keep == (0, 1, 2, 5, 6, 7)
    assert simpler.taken_mm == (2.0,)


def test_a_pause_beside_a_top_does_not_flatten_it() -> None:
    rng = np.random.default_rng(4)
    at = np.concatenate([np.linspace(-1, 0.5, 30), np.full(60, 0.5), np.linspace(0.5, 1.5, 20)])
    seen = -0.01 * at**2 + rng.normal(0, 0.0003, len(at))
    line, _ = level.smoothed(seen, 5)
    found = level.top(seen, line, 20, 0.0003, 0.02)
    assert found.level_mm == pytest.approx(0.0, abs=0.0004)


def test_a_top_between_two_readings_is_joined_by_a_parabola() -> None:
    angle = np.arange(-4, 5) * 0.5 + 0.24
    seen = 0.01 * np.cos(angle)
    found = level.top(seen, seen, int(np.argmax(seen)), 1e-6, 0.02)
    assert np.max(seen) < 0.00972
    assert found.level_mm == pytest.approx(0.01, abs=2 * found.loss_mm)
    assert found.loss_mm < 0.0003


def test_what_stands_out_a_little_may_be_the_part() -> None:
    seen = np.zeros(60)
    seen[20:40] = 0.02
    seen[10], seen[50] = 0.025, 0.3
    time_s = np.arange(60) / 10.0
    split = lint.reject(time_s, seen, 0.0003)
    assert split.rejected.tolist() == [10, 50]
    first, strict, everything = lint.doubts(seen, split)
    assert first.rejected.tolist() == [50]
    assert strict.rejected.tolist() == [10, 50]
    assert everything.rejected.tolist() == []


def passed(
    line: np.ndarray, at: list[int], *, pressed: bool = False, one_way: bool = False
) -> marks.Marks:
    time_s = np.arange(len(line)) / 10.0
    turning = points.find(time_s, line, 1e-3, 1e-4)
    joined = marks.joined(time_s, line, at, turning.swing_mm)
    return marks.passages(line, joined, turning, 1e-3, pressed=pressed, one_way=one_way)


def test_marks_passed_backwards_undo_marks_passed_forwards() -> None:
    rising, falling = np.linspace(0, 1, 21), np.linspace(1, 0, 21)
    line = np.concatenate([rising, falling[1:], rising[1:], falling[1:], rising[1:]])
    rocked = passed(line, [10, 30, 50, 70, 90])
    assert rocked.disputed
    assert rocked.whole_turns == 0
    assert passed(line, [10, 50, 90]).whole_turns == 2
    assert passed(line, [10, 30, 50, 90]).whole_turns == 1
    assert passed(line, [10, 30, 50], pressed=True).whole_turns == 2


def test_a_mark_at_a_high_says_nothing_about_the_way_but_the_person_may() -> None:
    angle = np.linspace(0.0, 3.4, 400)
    line = np.cos(2 * np.pi * angle)
    tops = [int(np.argmin(np.abs(angle - turn))) for turn in (1, 2, 3)]
    assert passed(line, tops).whole_turns == 0
    assert passed(line, tops, one_way=True).whole_turns == 2


def test_a_mark_beside_a_turning_point_may_have_been_passed_back_unseen() -> None:
    rising, falling = np.linspace(0, 1, 21), np.linspace(1, 0, 21)
    line = np.concatenate([rising, falling[1:], rising[1:], falling[1:]])
    assert passed(line, [10, 50]).whole_turns == 1
    assert passed(line, [19, 59]).whole_turns == 0


def test_a_mark_held_or_bouncing_counts_once() -> None:
    time_s, still = np.arange(100) / 50.0, np.zeros(100)
    assert marks.joined(time_s, still, [10, 11, 12, 15, 80], 0.001) == [(10, 15), (80, 80)]


def test_an_order_is_its_own_mirror_only_if_it_reads_backwards() -> None:
    width = np.full(4, 0.1)
    assert mirror.is_own_mirror(np.array([9.0, 0.0, 5.0, 0.0]), width)
    assert not mirror.is_own_mirror(np.array([9.0, 0.0, 5.0, 2.0]), width)


def _turning(levels: list[float]) -> points.Points:
    count = len(levels)
    at = np.arange(count) * 10
    return points.Points(
        at, at / 10.0, np.array(levels), np.full(count, 1e-4), np.zeros(count), 1e-3
    )


@pytest.mark.parametrize(
    ("levels", "size", "turns"),
    [
        ([0.5, 1, 0, 1, 0, 1, 0.5], 2, 2.5),
        ([0.5, 1, 0, 0.7, 0.2, 1, 0, 0.7, 0.2, 0.6], 4, 2.0),
        ([0.5, 1, 0, 1, 0.4, 0.5, 0, 1, 0.5], 2, 2.5),
    ],
)
def test_the_repeat_is_found(levels: list[float], size: int, turns: float) -> None:
    turning = _turning(levels)
    width = period.agreement_mm(turning, 1.0, 0.001)
    found = period.find(turning, width, 1.0, (0.0, np.inf))
    assert found is not None
    assert found.size == size
    assert found.turns == pytest.approx(turns, abs=0.12)


def test_levels_that_do_not_come_back_are_no_repeat() -> None:
    turning = _turning([0.5, 1, 0, 0.8, 0.3, 0.9, 0.1, 0.6])
    width = period.agreement_mm(turning, 1.0, 0.001)
    found = period.find(turning, width, 1.0, (0.0, np.inf))
    assert found is None or found.evidence < 1.0


def test_the_part_is_between_two_departures() -> None:
    seen = np.concatenate([np.full(9, -2.0), np.zeros(50), np.linspace(-0.1, -3, 8), [-3.0] * 9])
    time_s = np.arange(len(seen)) / 30.0
    piece = trim.on_the_blocks(time_s, seen, np.ones(len(seen), dtype=bool))
    came_s = time_s[9] + trim.HANDLING_S
    assert time_s[piece.first - 1] < came_s <= time_s[piece.first]
    assert time_s[56] <= time_s[piece.last] + trim.HANDLING_S <= time_s[60]
    assert piece.left


def test_a_gauge_touched_before_the_part_comes_is_no_turn() -> None:
    """A free plunger lifted once and let go, then the part: 1.5 turns to anybody who looks away."""
    free, touched = np.full(30, -1.2), 0.013 * (1 - np.cos(np.linspace(0, 2 * np.pi, 50))) - 1.2
    came = -1.2 + np.array([0.001, 0.003, 0.007, 0.011, 0.016, 0.026, 0.043, 0.081, 0.136, 0.187])
    set_down = np.linspace(-0.99, -0.55, 12)
    seen = np.round(np.concatenate([free, touched, free[:8], came, set_down]), 3)
    got = turned(readings(np.arange(len(seen)) / 50.0, seen), Setup(0.001, one_way=True))
    assert not got.complete


# How a hand set a part down, in µm from where the plunger hung free, at 50 readings a second.
SET_DOWN_UM = (
    *(1, 4, 11, 17, 27, 38, 67, 116, 186, 246, 269, 276, 280, 313, 406, 532, 657, 715, 726),
    *(731, 763),
)


@pytest.mark.parametrize("high_mm", [0.008, 0.010, 0.0115, 0.012, 0.013, 0.016, 0.020, 0.026])
@pytest.mark.parametrize(("slower", "farther"), [(1.0, 1), (1.0, 2), (1.5, 1), (1.5, 2), (2.5, 2)])
def test_the_gentle_start_of_a_way_is_no_turning_point(high_mm, slower, farther) -> None:
    """The same at any pace: the way there passes the height of the lift as if it came again."""
    touched = high_mm / 2 * (1 - np.cos(np.linspace(0, 2 * np.pi, 50)))
    at = np.linspace(0, len(SET_DOWN_UM) - 1, int(len(SET_DOWN_UM) * slower))
    came = farther * np.interp(at, np.arange(len(SET_DOWN_UM)), SET_DOWN_UM) / 1000
    seen = np.round(np.concatenate([np.zeros(33), touched, np.zeros(8), came]) - 1.2, 3)
    got = turned(readings(np.arange(len(seen)) / 50.0, seen), Setup(0.001, one_way=True))
    assert not got.complete


def test_a_handful_of_readings_is_not_all_lint() -> None:
    seen = np.array([0.004, -0.001, -0.007])
    split = lint.reject(np.arange(3) / 20.0, seen, 1e-6)
    assert split.kept.tolist() == [0, 1, 2]
    assert lint.doubts(seen, split) == [split]
