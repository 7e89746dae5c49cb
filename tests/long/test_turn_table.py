"""The figures of turning on many invented spins, as tables by hand, shape, rate and step.

Run by hand with `pytest -s -n 0 tests/long/test_turn_table.py`; takes a few minutes.
"""

from collections import defaultdict
from collections.abc import Callable

import numpy as np
import pytest

from daq.capture.base import Captured, Setup
from tests.generators.feeding import readings, turned
from tests.generators.hand_spin import SWAYS, Spin, any_spin

COUNT = 800
Judged = tuple[Spin, Captured]


def _judged(*, sways: bool, setup: Callable[[Spin], Setup], indexed: bool = False) -> list[Judged]:
    judged = []
    for k in range(COUNT):
        rng = np.random.default_rng([41, k])
        one = any_spin(rng, hand=str(rng.choice(SWAYS)) if sways else None)
        marks = one.index if indexed else None
        judged.append((one, turned(readings(one.t_s, one.value_mm, marks), setup(one))))
    return judged


def _right(one: Spin, got: Captured) -> bool:
    room = max(1.5 * one.step_mm, 0.0015, 0.03 * one.runout_mm)
    return abs(got.measured.value - one.runout_mm) <= room


def _row(name: str, rows: list[Judged]) -> str:
    complete = [(one, got) for one, got in rows if got.complete]
    if not complete:
        return f"{name:<18} {len(rows):5}   none complete"
    error = np.array([got.measured.value - one.runout_mm for one, got in complete]) * 1000
    expanded = np.array([got.measured.expanded for _, got in complete]) * 1000
    return (
        f"{name:<18} {len(rows):5} {len(complete) / len(rows):9.3f} "
        f"{np.mean([_right(*pair) for pair in complete]):6.3f} "
        f"{np.mean(np.abs(error) <= expanded):8.3f} {np.median(expanded):9.2f} "
        f"{np.sqrt(np.mean(error**2)):8.2f} {np.mean(error):6.2f}"
    )


def _print(title: str, judged: list[Judged], keys: dict[str, Callable[[Spin], object]]) -> None:
    print(f"\n{title}\n{'':<18}     n  complete  right  covered  med U/um  rms/um   bias")
    print(_row("all", judged))
    for name, key in keys.items():
        groups = defaultdict(list)
        for one, got in judged:
            groups[key(one)].append((one, got))
        for value in sorted(groups, key=str):
            print(_row(f"{name} {value}", groups[value]))


KEYS: dict[str, Callable[[Spin], object]] = {
    "hand": lambda one: one.hand,
    "shape": lambda one: one.shape + (" nicked" if one.nicked else ""),
    "rate": lambda one: f"{one.rate_hz:6.0f}",
    "step": lambda one: f"{one.step_mm:.5f}",
    "turns": lambda one: next(
        f"< {limit}" for limit in (0.9, 1.5, 2.0, 2.2, 9.0) if one.turns < limit
    ),
}


@pytest.mark.timeout(1800)
def test_turned_one_way() -> None:
    judged = _judged(sways=False, setup=lambda one: Setup(one.step_mm, one_way=True))
    _print("turned one way, and said so", judged, KEYS)
    complete = [pair for pair in judged if pair[1].complete and not pair[0].nicked]
    assert np.mean([_right(*pair) for pair in complete]) >= 0.98


@pytest.mark.timeout(1800)
def test_turned_with_an_index() -> None:
    judged = _judged(sways=False, setup=lambda one: Setup(one.step_mm), indexed=True)
    _print("turned with an index", judged, KEYS)
    complete = [pair for pair in judged if pair[1].complete and not pair[0].nicked]
    assert np.mean([_right(*pair) for pair in complete]) >= 0.98


@pytest.mark.timeout(1800)
def test_swayed_without_the_word() -> None:
    judged = _judged(sways=True, setup=lambda one: Setup(one.step_mm))
    _print("swayed, nothing said", judged, {"hand": KEYS["hand"], "shape": KEYS["shape"]})
    assert np.mean([got.complete for _, got in judged]) <= 0.05


@pytest.mark.timeout(1800)
def test_swayed_over_an_index() -> None:
    judged = _judged(sways=True, setup=lambda one: Setup(one.step_mm), indexed=True)
    judged = [(one, got) for one, got in judged if one.index.sum() >= 2]
    _print("swayed over an index", judged, {"hand": KEYS["hand"], "shape": KEYS["shape"]})
    assert np.mean([got.complete for _, got in judged]) <= 0.05


@pytest.mark.timeout(1800)
def test_swayed_against_the_word() -> None:
    judged = _judged(sways=True, setup=lambda one: Setup(one.step_mm, one_way=True))
    _print("swayed, one way said", judged, {"hand": KEYS["hand"], "shape": KEYS["shape"]})
    flagged = [got.detail["looks_swayed"] for _, got in judged]
    print(f"looks swayed: {np.mean(flagged):.3f} of all")
    assert np.mean(flagged) > 0.1
