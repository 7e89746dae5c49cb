"""`Measured`: a value with its standard uncertainty and the budget it came from (GUM).

Source of the rules: JCGM 100:2008 (GUM) 5.1.2 (combination) and 6.2 (expanded uncertainty).
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

COVERAGE_K = 2.0


class Evaluation(StrEnum):
    """How a standard uncertainty was found (GUM 4.2 statistical, 4.3 otherwise)."""

    TYPE_A = "A"
    TYPE_B = "B"


@dataclass(frozen=True, slots=True)
class Contribution:
    """One line of an uncertainty budget: `u` is a standard uncertainty in the value's unit."""

    name: str
    u: float
    evaluation: Evaluation
    note: str = ""


@dataclass(frozen=True, slots=True)
class Measured:
    """A value and the independent contributions to its uncertainty, all in `unit`."""

    value: float
    unit: str
    budget: tuple[Contribution, ...] = ()

    @property
    def u(self) -> float:
        """Combined standard uncertainty, k = 1 (root sum of squares, GUM 5.1.2)."""
        return combined(line.u for line in self.budget)

    @property
    def expanded(self) -> float:
        """Expanded uncertainty, k = 2."""
        return COVERAGE_K * self.u


def combined(parts: Iterable[float]) -> float:
    """Root sum of squares of independent standard uncertainties."""
    return math.sqrt(math.fsum(part * part for part in parts))
