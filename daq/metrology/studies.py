"""Statistics of small sets, summed so that large offsets cost no digits.

Deviations are taken from the mean before they are squared, and every sum is exactly rounded
(math.fsum). Straight lines are fitted to deviations from both means.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise


def mean(values: Sequence[float]) -> float:
    """Arithmetic mean. Raises ValueError for no values."""
    if not values:
        raise ValueError("There is no mean of no values.")
    rough = math.fsum(values) / len(values)
    return rough + math.fsum(value - rough for value in values) / len(values)


def standard_deviation(values: Sequence[float]) -> float:
    """Experimental standard deviation, n - 1 (GUM 4.2.2). Raises ValueError below two values."""
    if len(values) < 2:
        raise ValueError("A standard deviation needs two values.")
    return math.sqrt(_squares(values) / (len(values) - 1))


def u_of_mean(values: Sequence[float]) -> float:
    """Standard uncertainty of the mean, s/sqrt(n) (GUM 4.2.3)."""
    return standard_deviation(values) / math.sqrt(len(values))


def correlation(first: Sequence[float], second: Sequence[float]) -> float:
    """Correlation of paired values, and of their means (GUM 5.2.3)."""
    spread = math.sqrt(_squares(first) * _squares(second))
    if spread == 0:
        raise ValueError("Values that are all the same correlate with nothing.")
    return _products(first, second) / spread


def lag_one(values: Sequence[float]) -> float:
    """Autocorrelation of neighbouring values."""
    centre = mean(values)
    away = [value - centre for value in values]
    if not any(away):
        raise ValueError("Values that are all the same correlate with nothing.")
    products = math.fsum(a * b for a, b in pairwise(away))
    return products / math.fsum(a * a for a in away)


@dataclass(frozen=True, slots=True)
class OneWay:
    """One-way analysis of variance."""

    between_squares: float
    within_squares: float
    f_ratio: float
    r_squared: float
    residual_sd: float


def one_way(groups: Sequence[Sequence[float]]) -> OneWay:
    """Is there more between groups than within them? At least two groups and one repeat."""
    everything = [value for group in groups for value in group]
    free_between, free_within = len(groups) - 1, len(everything) - len(groups)
    if free_between < 1 or free_within < 1:
        raise ValueError("An analysis of variance needs two groups and a repeat in one.")
    centre = mean(everything)
    # Differences from one origin keep the digits that sums of large numbers would lose.
    means = [mean([value - centre for value in group]) for group in groups]
    between = math.fsum(len(g) * m * m for g, m in zip(groups, means, strict=True))
    within = math.fsum(_squares([value - centre for value in group]) for group in groups)
    return OneWay(
        between,
        within,
        (between / free_between) / (within / free_within),
        between / (between + within),
        math.sqrt(within / free_within),
    )


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line fitted by least squares: y = intercept + slope x.

    u_*: standard uncertainties from the scatter about the line. r: correlation of intercept and
    slope. A line through the origin has intercept 0, known exactly.
    """

    intercept: float
    slope: float
    u_intercept: float
    u_slope: float
    r: float
    residual_sd: float
    r_squared: float

    def at(self, x: float) -> float:
        """The line's value."""
        return self.intercept + self.slope * x

    def u_at(self, x: float) -> float:
        """Standard uncertainty of the line's value (GUM H.3.4)."""
        both = 2 * x * self.r * self.u_intercept * self.u_slope
        return math.sqrt(max(self.u_intercept**2 + (x * self.u_slope) ** 2 + both, 0.0))


def line(x: Sequence[float], y: Sequence[float]) -> Line:
    """Least-squares line (GUM H.3). Raises ValueError below three points or without spread in x."""
    if len(x) < 3:
        raise ValueError("A line with its uncertainty needs three points.")
    x_mean, y_mean, squares = mean(x), mean(y), _squares(x)
    if squares == 0:
        raise ValueError("All points stand at one place; no line is told from another.")
    slope = _products(x, y) / squares
    intercept = y_mean - slope * x_mean
    residuals = [b - y_mean - slope * (a - x_mean) for a, b in zip(x, y, strict=True)]
    left = math.fsum(each * each for each in residuals)
    sd = math.sqrt(left / (len(x) - 2))
    root_mean_square = math.sqrt(math.fsum(a * a for a in x) / len(x))
    u_slope = sd / math.sqrt(squares)
    return Line(
        intercept,
        slope,
        u_slope * root_mean_square,
        u_slope,
        -x_mean / root_mean_square,
        sd,
        _explained(left, _squares(y)),
    )


def line_through_origin(x: Sequence[float], y: Sequence[float]) -> Line:
    """Least-squares line y = slope x; r_squared is taken about zero."""
    if len(x) < 2:
        raise ValueError("A line through the origin with its uncertainty needs two points.")
    squares = math.fsum(a * a for a in x)
    slope = math.fsum(a * b for a, b in zip(x, y, strict=True)) / squares
    left = math.fsum((b - slope * a) ** 2 for a, b in zip(x, y, strict=True))
    sd = math.sqrt(left / (len(x) - 1))
    total = math.fsum(b * b for b in y)
    return Line(0.0, slope, 0.0, sd / math.sqrt(squares), 0.0, sd, _explained(left, total))


def _explained(left: float, total: float) -> float:
    """Share of the squares that a fit explains; all of nothing where there were none."""
    return 1 - left / total if total > 0 else 1.0


def _squares(values: Sequence[float]) -> float:
    """Sum of squared deviations from the mean, corrected for the mean's own rounding."""
    centre = mean(values)
    away = [value - centre for value in values]
    return math.fsum(a * a for a in away) - math.fsum(away) ** 2 / len(away)


def _products(first: Sequence[float], second: Sequence[float]) -> float:
    one, other = mean(first), mean(second)
    return math.fsum((a - one) * (b - other) for a, b in zip(first, second, strict=True))
