"""`Band`: the readings a part can show while it stays where it was captured."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from daq.capture.base import Captured, Kind
from drivers.reading import Reading, State, Unit

# The level of a turn is taken from its last seconds: before them the part may still be put in.
_LEVEL_S = 2.0


@dataclass(frozen=True, slots=True)
class Band:
    """Lowest and highest reading of the part, in `unit`."""

    low: float
    high: float
    unit: Unit

    @classmethod
    def of(cls, captured: Captured, readings: Sequence[Reading]) -> "Band":
        """The band of what was just captured out of `readings`.

        Where nothing was measured: what the last seconds showed. Without any number: everything,
        so that only a gauge out of its range shows that the part left.
        """
        numbers = [reading for reading in readings if reading.state is State.OK]
        if not numbers:
            return cls(-math.inf, math.inf, Unit.MM)
        unit = numbers[-1].unit
        since_s = numbers[-1].t_s - _LEVEL_S
        last = [reading.value for reading in numbers if reading.t_s >= since_s]
        if captured.kind is Kind.DECAY:
            return cls(0.0, captured.detail["start_mbar"], unit)
        if captured.measured is None:
            return cls(min(last), max(last), unit)
        value = captured.measured.value
        if captured.kind is Kind.TURN:
            # Wherever in the turn the last readings lie, all others are within one runout.
            level = float(np.median(last))
            return cls(level - value, level + value, unit)
        if captured.kind is Kind.ROCK:
            return cls(value, captured.detail["swing_top"], unit)
        # A difference is no reading; the last of the two readings behind it is.
        shown = captured.detail.get("on_the_part", value)
        return cls(shown, shown, unit)
