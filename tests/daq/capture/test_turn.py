"""What a turn takes for whole, what it leaves open, and what it says of it. All data invented."""

import math

import numpy as np
import pytest

from daq.capture.base import Hint, Setup
from daq.capture.turn import Turn
from daq.capture.turn.trim import HANDLING_S
from drivers.reading import Reading, State, Unit
from tests.generators.feeding import Floats, readings, turned

ONE_WAY = Setup(resolution=0.0005, one_way=True)
FREE = Setup(resolution=0.0005)
RATE_HZ = 50.0
BENT = ((0.02, 0.4), (0.002, 1.0))
LOBED = ((0.006, 0.4), (0.004, 2.0), (0.012, 1.1))


def profile(angle_turns: Floats, shape: tuple[tuple[float, float], ...]) -> Floats:
    waves = [
        amplitude * np.cos(2 * np.pi * (k + 1) * angle_turns + phase)
        for k, (amplitude, phase) in enumerate(shape)
    ]
    return np.sum(waves, axis=0)


def runout(shape: tuple[tuple[float, float], ...]) -> float:
    return float(np.ptp(profile(np.linspace(0, 1, 10_001), shape)))


def spun(
    angle_turns: Floats, shape: tuple[tuple[float, float], ...] = BENT, seed: int = 1
) -> tuple[Floats, Floats]:
    """Times and readings of a part at these angles, 50 a second, rounded to half a micrometre."""
    rng = np.random.default_rng(seed)
    noisy = profile(angle_turns, shape) + rng.normal(0, 0.0003, len(angle_turns)) - 0.7
    return np.arange(len(angle_turns)) / RATE_HZ, np.round(noisy / 0.0005) * 0.0005


def path(*moves: tuple[float, float]) -> Floats:
    """Angles in turns: each move (by turns, in seconds) with soft start and end."""
    angle, parts = 0.1, []
    for by, duration_s in moves:
        share = np.arange(1, int(duration_s * RATE_HZ) + 1) / int(duration_s * RATE_HZ)
        parts.append(angle + by * share**2 * (3 - 2 * share))
        angle += by
    return np.concatenate(parts)


REST = (0.0, 1.0)


def test_two_turns_one_way_give_the_runout() -> None:
    got = turned(readings(*spun(path(REST, (2.0, 5.0), REST))), ONE_WAY)
    assert got.complete
    assert got.detail["proof"] == "one-way"
    assert got.detail["turns"] == pytest.approx(2.0, abs=0.1)
    assert got.measured.value == pytest.approx(runout(BENT), abs=got.measured.expanded)
    assert {line["name"] for line in got.detail["budget"]} >= {"resolution", "noise", "sampling"}


def test_the_same_turns_without_the_word_are_no_proof_for_a_bend() -> None:
    got = turned(readings(*spun(path(REST, (2.0, 5.0), REST))), FREE)
    assert not got.complete
    assert "swayed" in got.reason
    assert got.measured.value == pytest.approx(runout(BENT), abs=0.001)


def test_lobes_that_go_on_forwards_prove_themselves() -> None:
    got = turned(readings(*spun(path(REST, (2.0, 8.0), REST), LOBED)), FREE)
    assert got.detail["proof"] == "pattern"
    assert got.measured.value == pytest.approx(runout(LOBED), abs=got.measured.expanded)


@pytest.mark.parametrize("span", [0.3, 0.45, 0.7, 0.9])
@pytest.mark.parametrize("shape", [BENT, LOBED])
def test_swaying_proves_nothing_by_itself(
    span: float, shape: tuple[tuple[float, float], ...]
) -> None:
    sways = path(REST, *[(span, 1.5), (-span, 1.5)] * 5, REST)
    assert not turned(readings(*spun(sways, shape)), FREE).complete


def test_swaying_over_lobes_looks_swayed_and_is_not_done_by_itself() -> None:
    turn = Turn(ONE_WAY)
    turn.feed(readings(*spun(path(REST, *[(0.9, 3.0), (-0.9, 3.0)] * 4, REST), LOBED)))
    turn.rest(1e6)
    assert turn.result().detail["looks_swayed"]
    assert any("swayed" in words for words in turn.result().warnings)
    assert not turn.done
    assert turn.progress().hint is Hint.ONE_WAY


def test_a_still_valve_completes_nothing_however_long() -> None:
    for seconds in (5.0, 60.0):
        got = turned(readings(*spun(path((0.0, seconds)))), ONE_WAY)
        assert not got.complete
        assert "Nothing has turned" in got.reason


def breathing(rng: np.random.Generator, seconds: float) -> Floats:
    """A stand that goes with the warmth of a room."""
    t_s = np.arange(0.0, seconds, 1 / RATE_HZ)
    wave = np.sin(2 * np.pi * t_s / rng.uniform(3.0, 6.0) + rng.uniform(0.0, 6.0))
    return 0.0015 * wave * (1 + 0.3 * np.sin(t_s / 7.0))


def wandering(rng: np.random.Generator, seconds: float) -> Floats:
    return np.cumsum(rng.normal(0.0, 0.00006, int(seconds * RATE_HZ)))


def trembling(_: np.random.Generator, seconds: float) -> Floats:
    t_s = np.arange(0.0, seconds, 1 / RATE_HZ)
    return 0.001 * np.sin(2 * np.pi * 0.31 * t_s) + 0.0008 * np.sin(2 * np.pi * 0.93 * t_s)


@pytest.mark.parametrize("step_mm", [0.0005, 0.001])
@pytest.mark.parametrize("moves", [breathing, wandering, trembling])
def test_a_part_that_nobody_turns_proves_no_turn(moves, step_mm: float) -> None:
    """Whatever its stand does, and however long it lies there."""
    for seed in range(5):
        rng = np.random.default_rng(seed)
        level_mm = 0.1 + moves(rng, 90.0)
        level_mm = np.round((level_mm + rng.normal(0, 0.0003, len(level_mm))) / step_mm) * step_mm
        turn = Turn(Setup(resolution=step_mm, one_way=True))
        turn.feed(readings(np.arange(len(level_mm)) / RATE_HZ, level_mm))
        assert not turn.done, seed
        assert not turn.result().complete, seed


STRAIGHT = ((0.0014, 0.4), (0.0003, 1.0))


def test_a_part_that_hardly_moves_is_taken_at_the_word_of_who_turned_it() -> None:
    given = readings(*spun(path(REST, (2.5, 6.0)), STRAIGHT))
    turn = Turn(ONE_WAY)
    turn.feed(given)
    assert turn.progress().hint is Hint.HARDLY
    assert "lies still" in turn.result().reason
    got = turned(given, Setup(resolution=0.0005, one_way=True, turned=True))
    assert got.complete
    assert got.measured.value == pytest.approx(runout(STRAIGHT), abs=got.measured.expanded)


def test_the_word_that_it_was_turned_proves_no_turn_that_was_not_seen() -> None:
    word = Setup(resolution=0.0005, one_way=True, turned=True)
    assert not turned(readings(*spun(path(REST, (0.6, 3.0)), STRAIGHT)), word).complete
    assert not turned(readings(*spun(path(REST, (0.6, 3.0)), BENT)), word).complete


def test_who_turns_for_long_for_nothing_is_told_to_begin_again() -> None:
    turn = Turn(ONE_WAY)
    t_s, level_mm = spun(path((0.0, 2.0), *[(1.0, 3.0)] * 20))
    touched = (t_s > 1.0) & (t_s < 1.3)
    level_mm = level_mm + 0.1 * touched * np.sin(np.pi * (t_s - 1.0) / 0.3)
    given = readings(t_s, np.round(level_mm / 0.0005) * 0.0005)
    turn.feed(given[:1000])
    assert turn.progress().hint is not Hint.AGAIN
    turn.feed(given[1000:])
    assert turn.progress().hint is Hint.AGAIN
    pausing = Turn(ONE_WAY)
    pausing.feed(readings(*spun(path(REST, (0.7, 2.0), (0.0, 60.0)), LOBED)))
    assert pausing.progress().hint is Hint.GO_ON


@pytest.mark.parametrize("touch_mm", [0.03, 0.1, 0.3])
def test_one_touch_of_a_hand_proves_nothing_out(touch_mm: float) -> None:
    t_s, level_mm = spun(path((0.0, 2.0), (3.0, 9.0)))
    touched = (t_s > 1.0) & (t_s < 1.3)
    level_mm = level_mm + touch_mm * touched * np.sin(np.pi * (t_s - 1.0) / 0.3)
    got = turned(readings(t_s, np.round(level_mm / 0.0005) * 0.0005), ONE_WAY)
    least = got.measured.value if got.complete else got.at_least
    assert least <= runout(BENT) + got.measured.expanded


def test_a_bent_part_that_was_only_swayed_is_proven_out_all_the_same() -> None:
    sway = path(REST, *[(by, 1.0) for by in (0.4, -0.4) * 4])
    got = turned(readings(*spun(sway)), FREE)
    assert not got.complete
    assert got.at_least == pytest.approx(got.measured.value, abs=0.002)


def test_half_a_turn_is_a_lower_bound() -> None:
    got = turned(readings(*spun(path(REST, (0.5, 2.0), REST))), ONE_WAY)
    assert not got.complete
    assert 0.0 < got.measured.value <= runout(BENT) + got.measured.expanded
    assert "Turn on" in got.reason


def test_waiting_longer_changes_no_completed_value() -> None:
    once = turned(readings(*spun(path(REST, (1.6, 5.0), (0.0, 4.0)))), ONE_WAY)
    again = turned(readings(*spun(path(REST, (1.6, 5.0), (0.0, 60.0)))), ONE_WAY)
    assert once.complete
    assert again.measured.value == pytest.approx(once.measured.value, abs=0.0003)


def test_nothing_fed_after_done_changes_the_result() -> None:
    turn = Turn(ONE_WAY)
    turn.feed(readings(*spun(path(REST, (1.6, 5.0), (0.0, 8.0)))))
    assert turn.done
    before = turn.result()
    turn.feed(readings(*spun(path((0.9, 2.0)), LOBED)))
    assert turn.result() == before


def test_slips_back_and_pauses_change_nothing() -> None:
    moves = path(
        REST, (0.35, 0.9), (0.0, 0.7), (-0.04, 0.2), (0.5, 1.1), (0.0, 0.4), (0.45, 0.8),
        (-0.03, 0.2), (0.0, 0.5), (0.6, 1.0), (0.4, 0.9), REST,
    )  # fmt: skip
    got = turned(readings(*spun(moves)), ONE_WAY)
    assert got.complete
    assert got.measured.value == pytest.approx(runout(BENT), abs=0.001)


def test_lint_is_rejected_and_named() -> None:
    t_s, value = spun(path(REST, (2.2, 6.0), REST))
    value[150] += 0.09
    value[260:262] -= 0.06
    got = turned(readings(t_s, value), ONE_WAY)
    named = [grain["t_s"] for grain in got.detail["rejected"]]
    assert named == pytest.approx([t_s[150], t_s[260], t_s[261]])
    assert got.measured.value == pytest.approx(runout(BENT), abs=got.measured.expanded)


def test_a_nick_that_comes_again_every_turn_is_the_part() -> None:
    angle = path(REST, (3.0, 12.0), REST)
    t_s, value = spun(angle)
    away = (angle % 1.0) - 0.6
    value -= np.where(np.abs(away) < 0.02, 0.03 * (1 - (away / 0.02) ** 2), 0.0)
    got = turned(readings(t_s, value), ONE_WAY)
    dense = np.linspace(0, 1, 10_001)
    nicked = profile(dense, BENT)
    off = dense - 0.6
    nicked -= np.where(np.abs(off) < 0.02, 0.03 * (1 - (off / 0.02) ** 2), 0.0)
    assert got.complete
    assert got.measured.value == pytest.approx(np.ptp(nicked), abs=0.0015)


def test_an_index_that_comes_by_twice_forwards_is_proof() -> None:
    angle = path(REST, (2.4, 6.0), REST)
    marks = np.diff(np.floor(angle + 0.05), prepend=np.floor(angle[0] + 0.05)) != 0
    got = turned(readings(*spun(angle), marks), FREE)
    assert got.detail["proof"] == "index"
    assert got.measured.value == pytest.approx(runout(BENT), abs=got.measured.expanded)


def test_rocking_over_the_index_is_no_turn() -> None:
    angle = path(REST, *[(0.5, 1.5), (-0.5, 1.5)] * 3, REST)
    marks = np.diff(np.floor(angle - 0.3), prepend=np.floor(angle[0] - 0.3)) != 0
    assert marks.sum() == 6
    assert not turned(readings(*spun(angle), marks), FREE).complete


def test_presses_count_turns_of_a_part_too_round_to_repeat() -> None:
    t_s, value = spun(path(REST, (2.2, 6.0), REST), ((0.0002, 0.0),))
    given = readings(t_s, value)
    for at in (70, 190, 310):
        given[at] = given[at]._replace(mark=True, commit=True)
    got = turned(given, FREE)
    assert got.detail["proof"] == "counted"
    assert got.measured.value < 0.002


def test_taking_the_part_out_ends_the_trace_where_it_was() -> None:
    t_s, value = spun(path(REST, (1.7, 5.0), (0.0, 0.6)))
    tail = np.concatenate([value, np.linspace(value[-1], value[-1] - 2.0, 10), np.full(40, -2.7)])
    given = readings(np.arange(len(tail)) / RATE_HZ, tail)
    turn = Turn(ONE_WAY)
    turn.feed(given)
    assert turn.done
    before_the_hand = t_s <= t_s[-1] - HANDLING_S
    whole = turn.result()
    cut = turned(readings(t_s[before_the_hand], value[before_the_hand]), ONE_WAY)
    assert whole.detail["left"]
    assert whole.measured.value == pytest.approx(cut.measured.value, abs=0.0002)


def test_putting_the_part_in_is_no_part_of_the_turn() -> None:
    _, value = spun(path(REST, (2.0, 5.0), REST))
    head = np.concatenate([np.full(20, -3.0), np.linspace(-3.0, value[0], 8)[1:-1], value])
    got = turned(readings(np.arange(len(head)) / RATE_HZ, head), ONE_WAY)
    assert got.complete
    assert got.measured.value == pytest.approx(runout(BENT), abs=0.001)


def test_readings_that_carry_no_number_are_no_readings() -> None:
    given = readings(*spun(path(REST, (2.0, 5.0), REST)))
    for at in (60, 200):
        given[at] = given[at]._replace(value=math.nan, state=State.OVER_RANGE)
    assert turned(given, ONE_WAY).complete
    none = [Reading("g", "", k / 50, math.nan, Unit.MM, State.ERROR) for k in range(40)]
    got = turned(none, ONE_WAY)
    assert got.measured is None
    assert "cable" in got.reason


def test_too_few_readings_a_turn_ask_for_slower() -> None:
    t_s, value = spun(path(REST, (3.0, 3.0), REST), LOBED)
    turn = Turn(ONE_WAY)
    turn.feed(readings(t_s[::10], value[::10]))
    got = turn.result()
    assert not got.complete
    assert "slower" in got.reason
    assert turn.progress().hint is Hint.SLOWER


def test_a_tilted_stylus_shows_too_much() -> None:
    given = readings(*spun(path(REST, (2.0, 5.0), REST)))
    straight = turned(given, ONE_WAY).measured
    tilted = turned(given, Setup(resolution=0.0005, one_way=True, stylus_angle_deg=20.0)).measured
    assert tilted.value == pytest.approx(straight.value * math.cos(math.radians(20.0)))
    assert tilted.u > straight.u


def test_the_gauges_error_limit_is_in_the_budget() -> None:
    given = readings(*spun(path(REST, (2.0, 5.0), REST)))
    limit = Setup(resolution=0.0005, one_way=True, error_limit=0.004)
    lines = {line.name: line.u for line in turned(given, limit).measured.budget}
    assert lines["gauge"] == pytest.approx(0.004 / math.sqrt(3))


def test_even_turning_shows_the_harmonics() -> None:
    angle = np.concatenate([np.full(40, 0.1), 0.1 + np.linspace(0, 4.0, 800), np.full(40, 4.1)])
    got = turned(readings(*spun(angle)), Setup(resolution=0.0005, v_angle_deg=60.0, one_way=True))
    peaks = got.detail["harmonics"]["peak_to_valley_mm"]
    assert peaks[0] == pytest.approx(0.04, abs=0.001)
    assert peaks[1] == pytest.approx(0.004, abs=0.001)
    assert got.detail["v_block"]["hidden_lobes"] == [1, 2, 4, 5, 7, 8, 10]


def test_lobes_on_a_v_block_carry_its_warning() -> None:
    setup = Setup(resolution=0.0005, v_angle_deg=90.0, one_way=True)
    got = turned(readings(*spun(path(REST, (2.0, 8.0), REST), LOBED)), setup)
    assert any("90 deg" in words for words in got.warnings)


def test_silence_ends_a_proven_turn_and_no_other() -> None:
    for turns, ends in ((1.7, True), (0.6, False)):
        turn = Turn(ONE_WAY)
        t_s, value = spun(path(REST, (turns, 5.0), (0.0, 0.4)))
        turn.feed(readings(t_s, value))
        turn.rest(t_s[-1] + 0.3)
        assert not turn.done
        turn.rest(t_s[-1] + 0.8)
        assert turn.done is ends


def test_progress_tells_the_page_how_far_it_is() -> None:
    turn = Turn(ONE_WAY)
    assert turn.progress().hint is Hint.BEGIN
    given = readings(*spun(path(REST, (1.6, 5.0), (0.0, 5.0))))
    turn.feed(given[:180])
    middle = turn.progress()
    assert middle.hint is Hint.GO_ON
    assert middle.value is not None
    assert middle.share < 1.0
    turn.feed(given[180:])
    assert turn.progress().hint is Hint.DONE
    assert turn.progress().share == 1.0


SYMMETRICAL = ((0.006, 0.0), (0.012, 0.0))


def test_an_index_tells_a_symmetrical_part_from_a_swayed_one() -> None:
    angle = path(REST, (2.4, 8.0), REST)
    marks = np.diff(np.floor(angle + 0.2), prepend=np.floor(angle[0] + 0.2)) != 0
    said = turned(readings(*spun(angle, SYMMETRICAL)), ONE_WAY)
    assert said.detail["looks_swayed"]
    got = turned(readings(*spun(angle, SYMMETRICAL), marks), FREE)
    assert got.detail["proof"] == "index"
    assert not got.detail["looks_swayed"]
