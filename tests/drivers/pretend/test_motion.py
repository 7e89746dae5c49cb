"""The physics of the pretend parts: repeatable by seed, and true to their own truth."""

import numpy as np
import pytest

from drivers.pretend.bore import RockedBore
from drivers.pretend.hand import HandPath, HandStyle
from drivers.pretend.motion import HeldStill, Withdraw
from drivers.pretend.valve import Section, Shape, SpunValve, invented_section

SEEDS = range(8)


def rng(seed: int) -> np.random.Generator:
    return np.random.default_rng(seed)


def fine(seconds: float, hz: float = 200.0) -> np.ndarray:
    return np.arange(int(seconds * hz)) / hz


def spun(seed: int, style: HandStyle = HandStyle.STEADY, **more) -> SpunValve:
    chance = rng(seed)
    return SpunValve(invented_section(Shape.BENT, 0.04, chance), style, chance, **more)


@pytest.mark.parametrize(
    "make",
    [
        lambda seed: spun(seed, HandStyle.ERRATIC, lint=3, drift_mm_per_min=0.003),
        lambda seed: RockedBore(7.03, 7.0, rng(seed), lost=2),
        lambda seed: HeldStill(6.98, rng(seed)),
        lambda seed: Withdraw(-1.0, rng(seed)),
    ],
)
def test_a_seed_gives_the_same_motion_and_another_seed_another(make):
    t_s = fine(8.0)
    assert np.array_equal(make(3).at(t_s, 0.5), make(3).at(t_s, 0.5))
    assert not np.array_equal(make(3).at(t_s, 0.5), make(4).at(t_s, 0.5))
    assert make(3).at(np.array([0.0]), 0.5)[0] == pytest.approx(0.5, abs=1e-9)


@pytest.mark.parametrize("shape", list(Shape))
def test_a_section_has_the_runout_it_was_given(shape):
    section = invented_section(shape, 0.0375, rng(1))
    whole = section.at(np.linspace(0, 1, 100_000))
    assert whole.max() - whole.min() == pytest.approx(0.0375, rel=1e-5)
    assert section.runout_mm == pytest.approx(0.0375, rel=1e-9)


def test_the_runout_of_a_pure_bend_is_twice_its_amplitude():
    section = Section(np.array([1.0]), np.array([0.02]), np.array([0.3]))
    assert section.runout_mm == pytest.approx(0.04, rel=1e-6)


def test_the_shapes_differ_in_their_strongest_wave():
    strongest = {
        shape: [
            int(s.orders[np.argmax(s.amplitude_mm)])
            for s in (invented_section(shape, 0.05, rng(i)) for i in SEEDS)
        ]
        for shape in (Shape.BENT, Shape.OVAL, Shape.LOBED)
    }
    assert {shape: set(orders) for shape, orders in strongest.items()} == {
        Shape.BENT: {1},
        Shape.OVAL: {2},
        Shape.LOBED: {3},
    }


@pytest.mark.parametrize("style", list(HandStyle))
@pytest.mark.parametrize("seed", SEEDS)
def test_every_hand_turns_forwards_at_a_hands_speed(style, seed):
    turns = HandPath(style, 60.0, rng(seed)).turns_at(fine(60.0))
    assert 2.0 < turns[-1] < 30.0
    assert turns.max() - turns[-1] < 0.1
    # Back-slips are small: never more than the largest slip below the furthest point so far.
    slip = (np.maximum.accumulate(turns) - turns).max()
    assert slip < 0.13
    assert (slip > 0.001) == (style is not HandStyle.STEADY)


def test_fingers_pause_and_a_steady_hand_does_not():
    def still(style: HandStyle) -> float:
        turns = HandPath(style, 30.0, rng(2)).turns_at(fine(30.0))
        return float(np.mean(np.abs(np.diff(turns[200:])) < 1e-6))

    assert still(HandStyle.STEADY) == 0.0
    assert 0.05 < still(HandStyle.FINGERS) < 0.8


@pytest.mark.parametrize("seed", SEEDS)
def test_a_clean_spin_shows_its_runout_and_lint_shows_more(seed):
    clean = spun(seed, seconds=40.0)
    assert clean.turned_at(40.0) > 2
    t_s = fine(40.0)
    turning = t_s > 2.0
    seen = clean.at(t_s, -1.0)[turning]
    assert seen.max() - seen.min() == pytest.approx(clean.truth_mm, rel=2e-3)
    dirty = spun(seed, seconds=40.0, lint=2)
    lifted = dirty.at(t_s, -1.0) - clean.at(t_s, -1.0)
    grains = lifted[lifted > 1e-9]
    assert 0.04 < grains.max() < 0.31
    assert 2 * 0.03 * 200 * 0.5 < len(grains) < 2 * 0.1 * 200


def test_drift_is_slow_and_goes_on():
    t_s = np.array([10.0, 40.0])
    still, creeping = spun(1), spun(1, drift_mm_per_min=0.004)
    moved = creeping.at(t_s, 0.0) - still.at(t_s, 0.0)
    assert np.diff(moved)[0] == pytest.approx(0.002, abs=1e-9)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_least_reading_of_each_swing_is_the_bore(seed):
    bore = RockedBore(7.0312, 7.0012, rng(seed), swings=6)
    t_s = fine(bore.duration_s, 1000.0)
    shown = bore.at(t_s, 0.6)
    inside = t_s > bore._in_s
    assert shown[inside].min() == pytest.approx(0.0300, abs=2e-5)
    tilt = bore.tilt_at(t_s[inside])
    crossings = np.count_nonzero(np.diff(np.sign(tilt)))
    assert crossings == 6
    # Each swing goes far enough to show a bottom, and no further than a hand does.
    assert 0.015 < shown[inside].max() - 0.0300 < 0.1
    assert np.abs(np.rad2deg(tilt)).max() < 9.0


def test_a_still_gauge_settles_on_its_size_and_stays():
    for seed in SEEDS:
        held = HeldStill(6.9834, rng(seed))
        shown = held.at(fine(6.0), 12.0)
        assert np.abs(shown[-600:] - 6.9834).max() < 0.0005
        assert shown[0] == pytest.approx(12.0)
        assert abs(shown[60] - 6.9834) > 0.01


def test_withdrawing_ends_where_the_gauge_hangs_free():
    motion = Withdraw(-1.0, rng(0))
    assert motion.at(np.array([0.0, motion.duration_s]), 0.02) == pytest.approx([0.02, -1.0])
    assert motion.duration_s <= 0.5
