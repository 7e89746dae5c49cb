"""Reference circles through measured points, for when the angle of each reading is known.

Definitions: ISO 12181-1:2011 (from memory). Least squares: least sum of squared radial deviations.
Minimum zone: the two concentric circles closest together that hold all points between them.
Minimum circumscribed: the smallest circle around all points. Maximum inscribed: the largest
circle inside the points, near their middle. Limacon: ISO 4291:1985 (from memory), for readings at
equal angles from a spindle whose axis is off the middle.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import optimize

from daq.metrology.around import smallest_around

Points = NDArray[np.float64]  # n rows of x, y
Vector = NDArray[np.float64]

_ROUNDS_MOST = 60
# Of the radius: a step of the centre below this is the end.
_STILL = 1e-14


@dataclass(frozen=True, slots=True)
class Circle:
    """A reference circle and the departure of the points from it; lengths as the points'.

    peak: largest departure outwards, valley: inwards (both from 0 up), total: their sum (RONt),
    root_mean_square: of all departures (RONq). radius of a minimum zone: the middle of its two.
    """

    x: float
    y: float
    radius: float
    peak: float
    valley: float
    root_mean_square: float

    @property
    def total(self) -> float:
        """Roundness deviation, peak to valley."""
        return self.peak + self.valley


def least_squares(points: Points) -> Circle:
    """Geometric fit by Gauss-Newton. Raises ValueError for fewer than three points."""
    if len(points) < 3:
        raise ValueError("A circle needs three points.")
    x, y = points.mean(axis=0).tolist()
    for _ in range(_ROUNDS_MOST):
        away = points - (x, y)
        distances = np.hypot(away[:, 0], away[:, 1])
        design = np.column_stack((away / distances[:, None], np.ones(len(points))))
        step = np.linalg.lstsq(design, distances, rcond=None)[0]
        x, y = x + float(step[0]), y + float(step[1])
        if math.hypot(step[0], step[1]) <= _STILL * step[2]:
            break
    return _about(points, x, y, float(step[2]))


def minimum_zone(points: Points) -> Circle:
    """The zone's middle circle; `total` is the zone's width."""
    x, y = _shifted(points, inner=1.0, outer=1.0)
    distances = _distances(points, x, y)
    return _about(points, x, y, float(distances.max() + distances.min()) / 2)


def maximum_inscribed(points: Points) -> Circle:
    """The largest circle inside the points whose middle lies near theirs."""
    x, y = _shifted(points, inner=1.0, outer=0.0)
    return _about(points, x, y, float(_distances(points, x, y).min()))


def minimum_circumscribed(points: Points) -> Circle:
    """The smallest circle around the points."""
    around = smallest_around([(x, y) for x, y in points.tolist()])
    return _about(points, around.x, around.y, around.radius)


def limacon(deviations: Sequence[float]) -> tuple[float, float, float]:
    """Centre's x and y and the span of what is left, of readings at equal angles from 0.

    a = 2/n sum(r cos), b = 2/n sum(r sin) (ISO 4291 annex, from memory).
    """
    angles = 2 * np.pi * np.arange(len(deviations)) / len(deviations)
    radii = np.asarray(deviations, np.float64)
    x = 2 * float(radii @ np.cos(angles)) / len(radii)
    y = 2 * float(radii @ np.sin(angles)) / len(radii)
    left = radii - x * np.cos(angles) - y * np.sin(angles)
    return x, y, float(left.max() - left.min())


def _distances(points: Points, x: float, y: float) -> Vector:
    return np.asarray(np.hypot(points[:, 0] - x, points[:, 1] - y))


def _about(points: Points, x: float, y: float, radius: float) -> Circle:
    away = _distances(points, x, y) - radius
    rms = math.sqrt(float((away**2).mean()))
    return Circle(x, y, radius, max(0.0, float(away.max())), max(0.0, -float(away.min())), rms)


def _shifted(points: Points, inner: float, outer: float) -> tuple[float, float]:
    """Centre that makes outer * (largest distance) - inner * (smallest distance) least.

    Each distance is straight in a small shift of the centre, so each round is a linear programme:
    find shift and radii, all points between them. A shift that does not help is halved.
    """
    start = least_squares(points)
    x, y, reach = start.x, start.y, start.radius / 10

    def width(x: float, y: float) -> float:
        distances = _distances(points, x, y)
        return outer * float(distances.max()) - inner * float(distances.min())

    best = width(x, y)
    for _ in range(_ROUNDS_MOST):
        shift_x, shift_y = _best_shift(points, (x, y), (inner, outer), reach)
        if math.hypot(shift_x, shift_y) <= _STILL * start.radius:
            break
        tried = width(x + shift_x, y + shift_y)
        if tried < best:
            x, y, best = x + shift_x, y + shift_y, tried
        else:
            reach = math.hypot(shift_x, shift_y) / 2
    return x, y


def _best_shift(
    points: Points, centre: tuple[float, float], weights: tuple[float, float], reach: float
) -> tuple[float, float]:
    inner, outer = weights
    distances = _distances(points, *centre)
    middle = float(distances.mean())
    # In units of the form itself, so that the solver's own tolerance is far below it.
    unit = max(float(distances.max() - distances.min()), _STILL * middle)
    toward = (points - centre) / distances[:, None]
    one, none = np.ones((len(points), 1)), np.zeros((len(points), 1))
    form = (distances - middle) / unit
    # Unknown: shift x, shift y, inner and outer radius. inner <= distance - toward.shift <= outer.
    rows = np.vstack((np.hstack((toward, one, none)), np.hstack((-toward, none, -one))))
    limits = np.concatenate((form, -form))
    bound = reach / unit
    solved = optimize.linprog(
        [0.0, 0.0, -inner, outer],
        A_ub=rows,
        b_ub=limits,
        bounds=[(-bound, bound), (-bound, bound), (None, None), (None, None)],
        method="highs",
    )
    if solved.x is None:  # the solver gave up; staying is a shift, too, and ends the search
        return 0.0, 0.0
    return float(solved.x[0]) * unit, float(solved.x[1]) * unit
