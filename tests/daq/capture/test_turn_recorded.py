"""The recorded-like spins of fixtures/traces/spin against their truth; bars of the project."""

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from daq.capture.base import Captured, Setup
from tests.generators.feeding import recorded, turned

FOLDER = Path(__file__).parents[3] / "fixtures/traces/spin"


@dataclass(frozen=True)
class Spin:
    file: str
    turns: float
    indexed: bool
    step_mm: float
    runout_mm: float
    got: Captured

    @property
    def error_mm(self) -> float:
        return self.got.measured.value - self.runout_mm

    @property
    def right(self) -> bool:
        return abs(self.error_mm) <= max(1.5 * self.step_mm, 0.0015, 0.03 * self.runout_mm)


def _spins(*, one_way: bool) -> list[Spin]:
    with (FOLDER / "truth.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    return [
        Spin(
            row["file"],
            float(row["turns"]),
            row["has_index"] == "1",
            float(row["step_mm"]),
            float(row["runout_mm"]),
            turned(recorded(FOLDER / row["file"]), Setup(one_way=one_way)),
        )
        for row in rows
    ]


@pytest.fixture(scope="module")
def one_way() -> list[Spin]:
    return _spins(one_way=True)


@pytest.fixture(scope="module")
def free() -> list[Spin]:
    return _spins(one_way=False)


def _share(spins: list[Spin], least: float, most: float, *, indexed: bool = False) -> float:
    among = [s for s in spins if s.indexed == indexed and least <= s.turns < most]
    return sum(s.got.complete for s in among) / len(among)


@pytest.mark.parametrize("said", ["one_way", "free"])
def test_what_is_called_complete_without_an_index_is_right(
    said: str, request: pytest.FixtureRequest
) -> None:
    complete = [s for s in request.getfixturevalue(said) if not s.indexed and s.got.complete]
    assert len(complete) > 10
    assert sum(s.right for s in complete) / len(complete) >= 0.98


def test_whole_turns_are_seen_and_part_turns_are_not(one_way: list[Spin]) -> None:
    assert _share(one_way, 2.0, 9.0) >= 0.92
    assert _share(one_way, 1.5, 2.0) >= 0.80
    assert _share(one_way, 0.0, 0.9) <= 0.03


def test_an_index_proves_the_turns_it_counts(one_way: list[Spin], free: list[Spin]) -> None:
    for spins in (one_way, free):
        among = [s for s in spins if s.indexed and s.turns >= 2.2]
        assert sum(s.got.complete and s.right for s in among) / len(among) >= 0.98
        assert all(s.got.detail["proof"] == "index" for s in among)


def test_uncertainty_covers_and_is_not_inflated(one_way: list[Spin]) -> None:
    complete = [s for s in one_way if s.got.complete]
    error = np.array([s.error_mm for s in complete])
    expanded = np.array([s.got.measured.expanded for s in complete])
    assert np.mean(np.abs(error) <= expanded) >= 0.93
    assert np.median(expanded) <= 0.003
    assert np.mean(expanded) <= 4.0 * np.sqrt(np.mean(error**2))


def test_without_the_word_only_a_pattern_or_an_index_proves(free: list[Spin]) -> None:
    assert {s.got.detail["proof"] for s in free if s.got.complete} == {"pattern", "index"}
    assert all(s.got.reason for s in free if not s.got.complete)


def test_every_grain_is_named(one_way: list[Spin]) -> None:
    with (FOLDER / "truth.csv").open(newline="") as file:
        grains = {row["file"]: int(row["spikes"]) for row in csv.DictReader(file)}
    quiet = [s for s in one_way if grains[s.file] == 0 and s.got.complete]
    assert sum(not s.got.detail["rejected"] for s in quiet) / len(quiet) >= 0.9
    for spin in one_way:
        for named in spin.got.detail["rejected"]:
            assert set(named) == {"t_s", "value"}
