"""The gauge's step (its digital increment), found from the readings when nobody gave it.

Every reading is a whole number of steps apart from every other, so the step is the greatest
common divisor of the differences seen. It can only shrink as more readings come.
"""

import math

from drivers.reading import VALUE_STEPS_PER_UNIT


class StepFinder:
    """Greatest common divisor of the differences between readings, one reading at a time."""

    def __init__(self, known: float | None) -> None:
        self._known = known
        self._first: int | None = None
        self._divisor = 0

    def feed(self, value: float) -> None:
        """Take one value, in its unit."""
        count = round(value * VALUE_STEPS_PER_UNIT)
        if self._first is None:
            self._first = count
        self._divisor = math.gcd(self._divisor, count - self._first)

    @property
    def step(self) -> float:
        """The known step, else the one found so far, in the readings' unit.

        One grid step (a millionth of the unit) while every reading was the same.
        """
        if self._known is not None:
            return self._known
        return max(self._divisor, 1) / VALUE_STEPS_PER_UNIT
