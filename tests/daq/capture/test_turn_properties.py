"""Scale, offset, sign, time-stretch and chunking change nothing they should not. Invented spins."""

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from daq.capture.base import Captured, Setup
from daq.capture.turn import Turn
from tests.generators.feeding import readings, turned
from tests.generators.hand_spin import HANDS, SHAPES, Spin, spin

RARELY = settings(
    max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)


@st.composite
def spins(draw: st.DrawFn) -> Spin:
    rng = np.random.default_rng(draw(st.integers(0, 10_000)))
    return spin(
        rng,
        shape=draw(st.sampled_from(SHAPES)),
        hand=draw(st.sampled_from(HANDS)),
        rate_hz=draw(st.sampled_from([20.0, 50.0, 100.0])),
        step_mm=draw(st.sampled_from([0.0005, 0.001, 0.00254])),
        turns=draw(st.floats(0.3, 4.0)),
    )


def _turned(spin: Spin, t_s: np.ndarray, value_mm: np.ndarray, step_mm: float) -> Captured:
    return turned(readings(t_s, value_mm), Setup(resolution=step_mm, one_way=True))


def _plain(spin: Spin) -> Captured:
    return _turned(spin, spin.t_s, spin.value_mm, spin.step_mm)


@RARELY
@given(spins(), st.lists(st.integers(1, 400), min_size=1, max_size=6))
def test_any_cut_gives_the_same_answer(one: Spin, sizes: list[int]) -> None:
    given_readings = readings(one.t_s, one.value_mm, one.index)
    setup = Setup(resolution=one.step_mm)
    whole = Turn(setup)
    whole.feed(given_readings)
    cut, at, k = Turn(setup), 0, 0
    while at < len(given_readings):
        size = sizes[k % len(sizes)]
        cut.feed(given_readings[at : at + size])
        cut.progress()
        at, k = at + size, k + 1
    assert cut.done == whole.done
    assert cut.result() == whole.result()
    assert turned(given_readings, setup) == whole.result()


@RARELY
@given(spins(), st.integers(-3000, 3000))
def test_an_offset_changes_nothing(one: Spin, steps: int) -> None:
    moved = _turned(one, one.t_s, one.value_mm + steps * one.step_mm, one.step_mm)
    _same(_plain(one), moved, 0.0)


@RARELY
@given(spins())
def test_a_gauge_that_counts_backwards_sees_the_same_runout(one: Spin) -> None:
    _same(_plain(one), _turned(one, one.t_s, -one.value_mm, one.step_mm), 1e-9)


@RARELY
@given(spins(), st.sampled_from([2.0, 3.0]))
def test_scaling_readings_and_step_scales_the_runout(one: Spin, factor: float) -> None:
    plain = _plain(one)
    scaled = _turned(one, one.t_s, factor * one.value_mm, factor * one.step_mm)
    # Floors in mm (drift, the hand) weigh less on a larger part: they may tip a close call or end
    # the capture at another reading, but what both call complete is the same part.
    if plain.complete and scaled.complete:
        apart = abs(scaled.measured.value / factor - plain.measured.value)
        assert apart <= plain.measured.expanded


@RARELY
@given(spins(), st.sampled_from([0.7, 1.5]))
def test_turning_slower_or_faster_changes_no_runout(one: Spin, factor: float) -> None:
    plain = _plain(one)
    stretched = _turned(one, factor * one.t_s, one.value_mm, one.step_mm)
    if plain.complete and stretched.complete:
        apart = abs(stretched.measured.value - plain.measured.value)
        assert apart <= plain.measured.expanded


def _same(first: Captured, second: Captured, room_mm: float) -> None:
    assert first.complete == second.complete
    assert first.detail["proof"] == second.detail["proof"]
    assert abs(first.measured.value - second.measured.value) <= room_mm
    assert abs(first.measured.u - second.measured.u) <= room_mm
