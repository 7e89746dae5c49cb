"""The least reading of one pass: a smooth curve through the readings around its bottom.

Near upright the reading grows with the square of the tilt (D/cos(phi) = D + D phi^2/2 + ...), and
a hand's tilt is smooth in time, so the bottom is a low polynomial of time. The least *sample* is
wrong both ways: too low by the noise, too high where few readings fall on the bottom.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]

# Shares of the swing's height that are fitted, in order of preference; the last one is for
# swings so fast that little else is left.
_HEIGHT_SHARES = (0.6, 0.4, 0.25, 0.15, 0.1, 0.85)
_COUNT_LEAST = 5
_QUARTIC_COUNT = 9
_OUTLIER_SIGMAS = 4.5
_MISFIT = 1.6
_SPARE_LEAST = 4
_ROUNDS_MOST = 4
_CURVE_POINTS = 401


@dataclass(frozen=True, slots=True)
class Bottom:
    """Least reading of one pass.

    u_mm: standard uncertainty of the fit. count: readings used, of which `spare` were more than
    the curve needed. residual_mm: scatter about the curve.
    """

    value_mm: float
    u_mm: float
    count: int
    spare: int
    t_s: float
    residual_mm: float


def fit_bottom(t_s: Vector, value_mm: Vector, bottom: int, noise_mm: float) -> Bottom | None:
    """Fit one pass from top to top, with its lowest reading at place `bottom`.

    noise_mm: the least standard deviation one reading can have (its digital step). None where
    too few readings lie around the bottom. Of several heights the tallest is taken whose curve
    fits as well as the gauge's noise allows, seen by the best fit that has readings to spare.
    """
    height_mm = min(value_mm[0], value_mm[-1]) - value_mm[bottom]
    fits = [
        fitted
        for share in _HEIGHT_SHARES
        if (fitted := _fit_below(t_s, value_mm, bottom, share * height_mm, noise_mm)) is not None
    ]
    if not fits:
        return None
    best_mm = min((fit.residual_mm for fit in fits if fit.spare >= _SPARE_LEAST), default=0.0)
    allowed_mm = _MISFIT * max(noise_mm, best_mm)
    good = [fit for fit in fits if fit.residual_mm <= allowed_mm]
    return good[0] if good else min(fits, key=lambda fit: fit.u_mm)


def _fit_below(
    t_s: Vector, value_mm: Vector, bottom: int, height_mm: float, noise_mm: float
) -> Bottom | None:
    low, high = _around(value_mm, bottom, value_mm[bottom] + height_mm)
    t, v = t_s[low:high] - t_s[bottom], value_mm[low:high]
    keep = np.ones(len(t), bool)
    for _ in range(_ROUNDS_MOST):
        count = int(keep.sum())
        if count < _COUNT_LEAST:
            return None
        order = 4 if count >= _QUARTIC_COUNT else 2
        scale_s = max(t[-1], -t[0])
        design: Vector = np.vander(t / scale_s, order + 1)
        solved = np.linalg.lstsq(design[keep], v[keep], rcond=None)
        coefficients = np.asarray(solved[0], np.float64)
        residuals = v - design @ coefficients
        spare = count - order - 1
        residual_mm = math.sqrt(float((residuals[keep] ** 2).sum()) / spare)
        out = np.abs(residuals) > _OUTLIER_SIGMAS * max(noise_mm, _scatter(residuals[keep]))
        if not (out & keep).any():
            break
        keep &= ~out
    least = _least(coefficients, design[keep])
    if least is None:
        return None
    at, value, u_of_unit = least
    u_mm = max(residual_mm, noise_mm) * u_of_unit
    return Bottom(value, u_mm, count, spare, float(t_s[bottom]) + at * scale_s, residual_mm)


def _least(coefficients: Vector, design: Vector) -> tuple[float, float, float] | None:
    """Place, value and uncertainty (for unit noise) of the curve's least point.

    None where it lies at an end of the fitted readings: there the curve has no bottom.
    """
    places = design[:, -2]
    grid = np.linspace(float(places.min()), float(places.max()), _CURVE_POINTS)
    curve = np.polyval(coefficients, grid)
    least = int(curve.argmin())
    if least in (0, len(grid) - 1):
        return None
    row = np.vander(grid[least : least + 1], design.shape[1])[0]
    spread = np.linalg.pinv(design.T @ design)
    return float(grid[least]), float(curve[least]), math.sqrt(float(row @ spread @ row))


def _around(value_mm: Vector, bottom: int, ceiling_mm: float) -> tuple[int, int]:
    above = np.flatnonzero(value_mm > ceiling_mm)
    before, after = above[above < bottom], above[above > bottom]
    low = int(before[-1]) + 1 if len(before) else 0
    high = int(after[0]) if len(after) else len(value_mm)
    return low, high


def _scatter(residuals: Vector) -> float:
    return 1.4826 * float(np.median(np.abs(residuals)))
