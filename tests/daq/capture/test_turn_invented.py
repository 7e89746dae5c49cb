"""Invented spins of tests/generators/hand_spin.py against their truth: other habits than the
recorded-like ones, among them swaying, which those do not hold. The full table by hand, shape,
rate and step is printed by tests/long/test_turn_table.py."""

import numpy as np
import pytest

from daq.capture.base import Captured, Setup
from tests.generators.feeding import readings, turned
from tests.generators.hand_spin import SWAYS, Spin, any_spin

COUNT, SWAYED_COUNT = 240, 100


def _spins(
    kind: int, count: int, *, sways: bool, one_way: bool, indexed: bool = False
) -> list[tuple[Spin, Captured]]:
    made = []
    for k in range(count):
        rng = np.random.default_rng([kind, k])
        one = any_spin(rng, hand=str(rng.choice(SWAYS)) if sways else None)
        setup = Setup(resolution=one.step_mm, one_way=one_way)
        mark = one.index if indexed else None
        made.append((one, turned(readings(one.t_s, one.value_mm, mark), setup)))
    return made


@pytest.fixture(scope="module")
def one_way() -> list[tuple[Spin, Captured]]:
    return _spins(31, COUNT, sways=False, one_way=True)


def right(one: Spin, got: Captured) -> bool:
    room = max(1.5 * one.step_mm, 0.0015, 0.03 * one.runout_mm)
    return abs(got.measured.value - one.runout_mm) <= room


def test_complete_is_right(one_way: list[tuple[Spin, Captured]]) -> None:
    complete = [(one, got) for one, got in one_way if got.complete and not one.nicked]
    assert len(complete) > COUNT / 2
    assert sum(right(one, got) for one, got in complete) / len(complete) >= 0.98


def test_uncertainty_covers(one_way: list[tuple[Spin, Captured]]) -> None:
    covered = [
        abs(got.measured.value - one.runout_mm) <= got.measured.expanded
        for one, got in one_way
        if got.complete and not one.nicked
    ]
    assert np.mean(covered) >= 0.93


def test_part_turns_are_not_complete(one_way: list[tuple[Spin, Captured]]) -> None:
    short = [got.complete for one, got in one_way if one.turns < 0.9]
    assert np.mean(short) <= 0.03


def test_whole_turns_with_readings_enough_are_complete(
    one_way: list[tuple[Spin, Captured]],
) -> None:
    enough = [
        got.complete
        for one, got in one_way
        if one.turns >= 2.0 and one.rate_hz >= 60 and one.step_mm < 0.01 and not one.nicked
    ]
    assert np.mean(enough) >= 0.92


def test_swaying_without_the_word_is_not_complete() -> None:
    swayed = _spins(32, SWAYED_COUNT, sways=True, one_way=False)
    assert np.mean([got.complete for _, got in swayed]) <= 0.05


def test_rocking_over_an_index_is_not_complete() -> None:
    rocked = [
        got.complete
        for one, got in _spins(33, 2 * SWAYED_COUNT, sways=True, one_way=False, indexed=True)
        if one.index.sum() >= 2
    ]
    assert len(rocked) > SWAYED_COUNT / 2
    assert np.mean(rocked) <= 0.05


@pytest.mark.parametrize(("places", "nick"), [((0.3, 1.3, 2.3), True), ((0.3, 1.55, 2.1), False)])
def test_what_comes_again_at_one_place_is_no_lint(places: tuple[float, ...], nick: bool) -> None:
    rng = np.random.default_rng(71)
    t_s = np.arange(0.0, 9.0, 0.05)
    turned_by = 0.38 * t_s + 0.02 * np.sin(t_s)
    value_mm = 0.006 * np.cos(2 * np.pi * turned_by) + rng.normal(0, 0.0002, len(t_s))
    for place in places:
        value_mm[np.argmin(np.abs(turned_by - place))] -= 0.04
    got = turned(readings(t_s, np.round(value_mm, 4)), Setup(resolution=0.0001, one_way=True))
    assert got.detail["rejected_count"] == 3
    assert ("nick" in (got.reason or "")) == nick
    assert got.complete != nick
