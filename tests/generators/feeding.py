"""Readings of a trace, and a turn captured from them; shared by the tests of turning."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import numpy.typing as npt

from daq.capture.base import Captured, Setup
from daq.capture.turn import Turn
from drivers.reading import Reading, Unit

Floats = npt.NDArray[np.float64]


def readings(
    t_s: Floats, value_mm: Floats, mark: Sequence[bool] | npt.NDArray[np.bool_] | None = None
) -> list[Reading]:
    """One reading a sample, in mm, on the grids a gauge would put them on."""
    marks = [False] * len(t_s) if mark is None else [bool(m) for m in mark]
    return [
        Reading("indicator", "", round(float(t), 4), round(float(v), 6), Unit.MM, mark=m)
        for t, v, m in zip(t_s, value_mm, marks, strict=True)
    ]


def recorded(path: Path) -> list[Reading]:
    """The readings of a recording with columns t_s, value_mm and perhaps index."""
    data = np.genfromtxt(path, delimiter=",", names=True)
    index = data["index"] > 0 if "index" in data.dtype.names else None
    return readings(data["t_s"], data["value_mm"], index)


def turned(given: Sequence[Reading], setup: Setup) -> Captured:
    """What a turn makes of all readings."""
    turn = Turn(setup)
    turn.feed(given)
    return turn.result()
