"""Recordings as readings: the fixtures' CSV files, and small invented ones made by hand."""

import csv
from decimal import Decimal
from pathlib import Path

import numpy as np

from drivers.reading import Reading, Unit, on_time_grid, on_value_grid

TRACES = Path(__file__).parents[2] / "fixtures/traces"


def recorded(kind: str, name: str) -> list[Reading]:
    """fixtures/traces/KIND/NAME as readings."""
    unit = Unit.MBAR if kind == "decay" else Unit.MM
    with (TRACES / kind / name).open(newline="") as file:
        return [
            Reading("g", "", on_time_grid(float(row[0])), on_value_grid(Decimal(row[1])), unit)
            for row in list(csv.reader(file))[1:]
        ]


def truths(kind: str) -> dict[str, dict[str, str]]:
    """fixtures/traces/KIND/truth.csv by file name."""
    with (TRACES / kind / "truth.csv").open(newline="") as file:
        return {row["file"]: row for row in csv.DictReader(file)}


def made(
    values: np.ndarray | list[float],
    rate_hz: float = 20.0,
    step: float = 0.001,
    unit: Unit = Unit.MM,
) -> list[Reading]:
    """Values rounded to `step` and read at an even rate from 0 s on."""
    return [
        Reading("g", "", on_time_grid(n / rate_hz), round(round(v / step) * step * 1e6) / 1e6, unit)
        for n, v in enumerate(np.asarray(values, float).tolist())
    ]


def approached(level: float = 7.984, seed: int = 1, noise: float = 0.0003) -> np.ndarray:
    """A micrometer closed on a part: open and still, closing, then held (invented)."""
    chance = np.random.default_rng(seed)
    opened, closing, held = np.full(25, 9.5), np.linspace(9.5, level, 30), np.full(40, level)
    return np.concatenate((opened, closing, held)) + chance.normal(0, noise, 95)
