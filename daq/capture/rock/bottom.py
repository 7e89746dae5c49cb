"""The least reading of one pass: a smooth curve through the readings around its bottom.

Near upright the reading grows with the square of the tilt (D/cos(phi) = D + D phi^2/2 + ...), and
a hand's tilt is smooth in time, so the bottom is a low polynomial of time. The least *sample* is
wrong both ways: too low by the noise, too high where few readings fall on the bottom.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from daq.capture.rock.curve import parabola, quartic, swing

Vector = NDArray[np.float64]

# Shares of the swing's height that are fitted, in order of preference; the last one is for
# swings so fast that little else is left.
_HEIGHT_SHARES = (0.6, 0.4, 0.25, 0.15, 0.1, 0.85)
_COUNT_LEAST = 5
_QUARTIC_COUNT = 9
_OUTLIER_SIGMAS = 4.5
_MISFIT = 1.6
_SPARE_LEAST = 4
# A rhythmic hand swings like a sine; one that goes from stop to stop (least jerk, Flash and Hogan
# 1985, from memory) bends 14 % more on its way (derived). The middle of the two is taken.
_STROKE = 1.07
# Of what the assumed shape of a swing corrects, this share may be wrong.
_SHAPE_SHARE = 0.3
_ROUNDS_MOST = 4
_CURVE_POINTS = 401


@dataclass(frozen=True, slots=True)
class Bottom:
    """Least reading of one pass.

    u_mm: standard uncertainty of the fit. shape_u_mm: what a hand that does not move as the curve
    assumes may still shift it by, alike in all passes of one hand. count: readings used, of which
    `spare` were more than the curve needed. residual_mm: scatter about the curve.
    """

    value_mm: float
    u_mm: float
    shape_u_mm: float
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
    fits = [
        fitted
        for share in _HEIGHT_SHARES
        if (fitted := _fit_below(t_s, value_mm, bottom, share, noise_mm)) is not None
    ]
    if not fits:
        return None
    best_mm = min((fit.residual_mm for fit in fits if fit.spare >= _SPARE_LEAST), default=0.0)
    allowed_mm = _MISFIT * max(noise_mm, best_mm)
    good = [fit for fit in fits if fit.residual_mm <= allowed_mm]
    return good[0] if good else min(fits, key=lambda fit: fit.u_mm)


def _fit_below(
    t_s: Vector, value_mm: Vector, bottom: int, share: float, noise_mm: float
) -> Bottom | None:
    height_mm = _height_mm(value_mm, bottom)
    ceiling_mm = value_mm[bottom] + share * _lower_top_mm(value_mm, bottom)
    low, high = _around(value_mm, bottom, ceiling_mm)
    t, v = t_s[low:high] - t_s[bottom], value_mm[low:high]
    keep = np.ones(len(t), bool)
    for _ in range(_ROUNDS_MOST):
        count = int(keep.sum())
        # A busy machine hears many readings at once, and they have one time: no curve in it.
        if len(np.unique(t[keep])) < _COUNT_LEAST:
            return None
        scale_s = max(t[-1], -t[0])
        x = t / scale_s
        plenty = count >= _QUARTIC_COUNT
        curve = quartic(x[keep], v[keep]) if plenty else swing(x[keep], v[keep], height_mm)
        spare = count - (5 if plenty else 3)
        residuals = v - curve.at(x)
        residual_mm = math.sqrt(float((residuals[keep] ** 2).sum()) / spare)
        out = np.abs(residuals) > _OUTLIER_SIGMAS * max(noise_mm, _scatter(residuals[keep]))
        if not (out & keep).any():
            break
        keep &= ~out
    at = curve.lowest(float(x[keep].min()), float(x[keep].max()), _CURVE_POINTS)
    if at is None:
        return None
    value = float(curve.at(np.array([at]))[0])
    shape_mm = 0.0 if plenty else value - float(parabola(x[keep], v[keep]).at(np.array([at]))[0])
    return Bottom(
        value_mm=value,
        u_mm=max(residual_mm, noise_mm) * curve.u_at(at),
        shape_u_mm=_SHAPE_SHARE * abs(shape_mm),
        count=count,
        spare=spare,
        t_s=float(t_s[bottom]) + at * scale_s,
        residual_mm=residual_mm,
    )


def _height_mm(value_mm: Vector, bottom: int) -> float:
    """Height of a swing as wide on both sides as this one is on average.

    The tilt at a top is the root of its height. Where one top is far higher it is no top but the
    way into the bore or a new grip, and counts as twice as wide at most.
    """
    tops = sorted((value_mm[0] - value_mm[bottom], value_mm[-1] - value_mm[bottom]))
    low, high = math.sqrt(max(tops[0], 0.0)), math.sqrt(max(tops[1], 0.0))
    return ((low + min(high, 2 * low)) / 2) ** 2 / _STROKE


def _lower_top_mm(value_mm: Vector, bottom: int) -> float:
    return float(min(value_mm[0], value_mm[-1]) - value_mm[bottom])


def _around(value_mm: Vector, bottom: int, ceiling_mm: float) -> tuple[int, int]:
    above = np.flatnonzero(value_mm > ceiling_mm)
    before, after = above[above < bottom], above[above > bottom]
    low = int(before[-1]) + 1 if len(before) else 0
    high = int(after[0]) if len(after) else len(value_mm)
    return low, high


def _scatter(residuals: Vector) -> float:
    return 1.4826 * float(np.median(np.abs(residuals)))
