"""The two curves a bottom is fitted with, each linear in what is unknown.

Quartic, where readings are plenty: any smooth hand. Swing, where they are few: a hand that turns
back at both tops moves the tilt nearly as a sine, so the reading is h sin^2(w t) above the bottom.
The height h of the swing is known from its tops, and a parabola, which leaves it out, would come
out too high by about h X^4/35 (X: the fitted part of the swing, in radians; derived).
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]
Matrix = NDArray[np.float64]
Basis = Callable[[Vector], Matrix]

_ROUNDS = 4
# The fitted part is less than the swing from top to top.
_PHASE_MOST = 1.7 * np.pi


@dataclass(frozen=True, slots=True)
class Curve:
    """A fitted curve: coefficients of the basis, and the design of the readings it was given."""

    basis: Basis
    coefficients: Vector
    design: Matrix

    def at(self, x: Vector) -> Vector:
        """Its values."""
        return np.asarray(self.basis(x) @ self.coefficients)

    def u_at(self, x: float) -> float:
        """Standard uncertainty of one of its values for readings that scatter by 1."""
        row = self.basis(np.array([x]))[0]
        spread = np.linalg.pinv(self.design.T @ self.design)
        return float(np.sqrt(row @ spread @ row))

    def lowest(self, low: float, high: float, points: int) -> float | None:
        """Where it is least between two places; None when that is at one of them."""
        grid = np.linspace(low, high, points)
        least = int(self.at(grid).argmin())
        return None if least in (0, points - 1) else float(grid[least])


def quartic(x: Vector, value: Vector) -> Curve:
    """Five unknowns."""
    return _fitted(lambda places: np.vander(places, 5), x, value)


def parabola(x: Vector, value: Vector) -> Curve:
    """Three unknowns; only a start, see above."""
    return _fitted(lambda places: np.vander(places, 3), x, value)


def swing(x: Vector, value: Vector, height: float) -> Curve:
    """Three unknowns and the known height; a parabola where the readings do not bend up."""
    start = parabola(x, value)
    bend = float(start.coefficients[0])
    if bend <= 0 or height <= 0:
        return start
    most = _PHASE_MOST / float(x.max() - x.min())
    rate = min(2 * (bend / height) ** 0.5, most)
    for _ in range(_ROUNDS):
        curve = _fitted(_waves(rate), x, value)
        seen = 2 * float(np.hypot(*curve.coefficients[:2]))
        rate = min(rate * (seen / height) ** 0.5, most)
    return curve


def _waves(rate: float) -> Basis:
    return lambda places: np.column_stack(
        (np.cos(rate * places), np.sin(rate * places), np.ones_like(places))
    )


def _fitted(basis: Basis, x: Vector, value: Vector) -> Curve:
    design = basis(x)
    solved = np.linalg.lstsq(design, value, rcond=None)
    return Curve(basis, np.asarray(solved[0], np.float64), design)
