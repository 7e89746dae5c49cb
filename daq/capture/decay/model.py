"""The curve of a vacuum that leaks while its gas still warms up, and the fit of it.

    below(t) = p0 - (p0/g) (1 - exp(-g r t / p0)) - a (1 - exp(-t / tau))

p0: below ambient at the start. r: the loss rate at the start that the leak alone causes. g: how the
leak slows down as the vacuum goes: 1 where it passes gas in proportion to the difference (the
difference then falls exponentially), 0.5 to 0.9 through a long narrow gap (absolute pressures
squared), 0 while it is choked. a, tau: evacuating cools the gas, it warms up again at the walls,
and that looks like a leak until over (p1 dT/T at constant volume). g, a and tau are hardly known
from one curve, so they are given what physics says, every tau is tried, and what they may still do
to r is part of its uncertainty.

Sources: ideal gas law; conduction in a gas sphere settles with R^2/(pi^2 alpha), 3 to 13 s for
0.05 to 0.6 litres of air and less in narrower spaces (derived; alpha of air 2.1e-5 m2/s, from
memory). How much the gas is still cooled when the valve closes: a guess of up to 1.5 K.
"""

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from daq.capture.decay.bins import Curve
from daq.metrology.leak import settling_change_mbar

Array = NDArray[np.float64]

_TAUS_S = np.geomspace(0.7, 20.0, 36)
_TAU_S, _TAU_LOG_SD = 4.0, 0.6
# Of gas at about half an atmosphere, cooled by 0.8 K, give or take as much.
_WARMING_MBAR = settling_change_mbar(absolute_mbar=500.0, change_k=0.8, temperature_k=293.0)
_SLOWING, _SLOWING_U = 0.85, 0.25
_SLOWING_LEAST, _SLOWING_MOST = 0.05, 1.5
# What is known beforehand of p0, r, a, g: middle, and weight as 1/u^2.
_MIDDLE = np.array([0.0, 0.0, _WARMING_MBAR, _SLOWING])
_KNOWN = np.array([0.0, 0.0, _WARMING_MBAR**-2, _SLOWING_U**-2])
# A gas does not warm up with one time constant only, and more of it as the leak lets it in: what
# such a tail may still do, as a share of the warming over the time and of the rate (derived by
# trying curves with two time constants, and leaks of other laws).
_TAIL_SHARE, _RATE_SHARE = 0.15, 0.02
_ROUNDS = 8
_PARAMETERS = 5  # with tau
_OUTLIER_SIGMAS = 5.0
_SCATTER_LEAST_MBAR = 1e-3  # no gauge of this kind is that quiet; keeps the sums well posed


@dataclass(frozen=True, slots=True)
class Loss:
    """What a curve says.

    rate_mbar_s: loss rate at the start from the leak alone. noise_u, warming_u, model_u: its
    standard uncertainties from the readings' noise, from not knowing how the gas warmed and the
    leak slows down, and from what the curve leaves out.
    start_mbar: below ambient at the start. warming_mbar, tau_s: likely warming. slowing: g.
    scatter_mbar: of single readings about the curve.
    """

    rate_mbar_s: float
    noise_u_mbar_s: float
    warming_u_mbar_s: float
    model_u_mbar_s: float
    start_mbar: float
    warming_mbar: float
    tau_s: float
    slowing: float
    scatter_mbar: float


class _Fits(NamedTuple):
    """One fit for each time constant tried, along the first axis of everything."""

    parameters: Array  # p0, r, a, g
    covariance: Array
    squares: Array  # weighted, of the residuals and of what was known before
    residuals: Array


def fit_loss(curve: Curve, least_scatter_mbar: float) -> Loss:
    """Fit the curve (more points than four). least_scatter_mbar: what the digital step causes."""
    curve = _without_outliers(curve, least_scatter_mbar)
    scatter = _scatter(curve, least_scatter_mbar)
    fits = _fit(curve, _TAUS_S, scatter)
    log_weights = _log_weights(fits)
    weights = np.exp(log_weights - log_weights.max())
    weights /= weights.sum()
    p0, rate, warming, slowing = (weights @ fits.parameters).tolist()
    spread = fits.covariance[:, 1, 1] + (fits.parameters[:, 1] - rate) ** 2
    total = float(weights @ spread)
    noise = min(_noise_variance(curve, (p0, rate, 0.0, slowing), scatter), total)
    tail = _TAIL_SHARE * warming / float(curve.t_s[-1])
    tau_s = float(np.exp(weights @ np.log(_TAUS_S)))
    # Drawn down, a gas is cooled and warms up again, never the other way: a fit that needs it to
    # cool down makes up for a leak that slows down by another law, and part of the rate is that.
    other_law = max(0.0, -warming) / tau_s / math.sqrt(3.0)
    return Loss(
        rate_mbar_s=rate,
        noise_u_mbar_s=math.sqrt(noise),
        warming_u_mbar_s=math.sqrt(total - noise),
        model_u_mbar_s=math.hypot(_RATE_SHARE * rate, tail, other_law),
        start_mbar=p0,
        warming_mbar=warming,
        tau_s=tau_s,
        slowing=slowing,
        scatter_mbar=scatter,
    )


def _fit(curve: Curve, taus_s: Array, scatter_mbar: float) -> _Fits:
    """Gauss-Newton for p0, r, a and g; what is known of a and g stands as two more observations."""
    weight = curve.counts / scatter_mbar**2
    warming = 1 - np.exp(-curve.t_s / taus_s[:, None])
    start = [float(curve.below_mbar[0]), 0.0, _WARMING_MBAR, _SLOWING]
    p = np.tile(start, (len(taus_s), 1))
    for _ in range(_ROUNDS):
        design, residuals = _linear(curve, warming, p)
        weighted = design * weight[:, None]
        normal = np.swapaxes(weighted, 1, 2) @ design + np.diag(_KNOWN)
        goal = np.einsum("tni,tn->ti", weighted, residuals) + _KNOWN * (_MIDDLE - p)
        step = np.linalg.solve(normal, goal[:, :, None])[:, :, 0]
        p = p + step
        p[:, 3] = np.clip(p[:, 3], _SLOWING_LEAST, _SLOWING_MOST)
    _, residuals = _linear(curve, warming, p)
    squares = residuals**2 @ weight + (p - _MIDDLE) ** 2 @ _KNOWN
    covariance = np.asarray(np.linalg.inv(normal), np.float64)
    return _Fits(p, covariance, squares, residuals)


def _linear(curve: Curve, warming: Array, p: Array) -> tuple[Array, Array]:
    """Derivatives of the curve by p0, r, a, g, and what is left of the readings."""
    p0, r, a, g = (column[:, None] for column in p.T)
    t = curve.t_s
    # A first guess far off must not overflow; no real vacuum grows e-fold within a record.
    slowed = np.exp(np.clip(-g * r * t / p0, -50.0, 1.0))
    lost = p0 / g * (1 - slowed)
    by_p0 = 1 - lost / p0 + r * t / p0 * slowed
    by_g = lost / g - r * t / g * slowed
    design = np.stack((by_p0, -t * slowed, -warming, by_g), axis=-1)
    return design, curve.below_mbar - (p0 - lost - a * warming)


def _log_weights(fits: _Fits) -> Array:
    """Of each time constant: how well it fits, how likely it was, how much it leaves open."""
    prior = (np.log(_TAUS_S / _TAU_S) / _TAU_LOG_SD) ** 2
    determinant = np.linalg.slogdet(fits.covariance)[1]
    return np.asarray(0.5 * determinant - 0.5 * (fits.squares + prior))


def _scatter(curve: Curve, least_mbar: float) -> float:
    """Of single readings about the best of the curves."""
    fits = _fit(curve, _TAUS_S[::5], max(least_mbar, _SCATTER_LEAST_MBAR))
    least = float((fits.residuals**2 @ curve.counts).min())
    freedom = max(len(curve.t_s) - _PARAMETERS, 1)
    return max(least_mbar, _SCATTER_LEAST_MBAR, math.sqrt(least / freedom))


def _noise_variance(
    curve: Curve, known: tuple[float, float, float, float], scatter_mbar: float
) -> float:
    """Variance of the rate if warming and slowing were known."""
    design, _ = _linear(curve, np.zeros((1, len(curve.t_s))), np.array([known]))
    columns = design[0, :, :2]
    normal = columns.T @ (columns * curve.counts[:, None]) / scatter_mbar**2
    return float(np.linalg.inv(normal)[1, 1])


def _without_outliers(curve: Curve, least_mbar: float) -> Curve:
    fits = _fit(curve, np.array([_TAU_S]), max(least_mbar, _SCATTER_LEAST_MBAR))
    each = fits.residuals[0] * np.sqrt(curve.counts)
    limit = _OUTLIER_SIGMAS * max(least_mbar, 1.4826 * float(np.median(np.abs(each))))
    keep = np.abs(each) <= limit
    if keep.sum() <= _PARAMETERS:
        return curve
    return Curve(curve.t_s[keep], curve.below_mbar[keep], curve.counts[keep])
