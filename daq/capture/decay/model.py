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

Vector = NDArray[np.float64]
Matrix = NDArray[np.float64]

_TAUS_S = np.geomspace(0.7, 20.0, 36)
_TAU_S, _TAU_LOG_SD = 4.0, 0.6
# Of gas at about half an atmosphere, cooled by 0.8 K, give or take as much.
_WARMING_MBAR = settling_change_mbar(absolute_mbar=500.0, change_k=0.8, temperature_k=293.0)
_SLOWING, _SLOWING_U = 0.85, 0.25
_SLOWING_LEAST, _SLOWING_MOST = 0.05, 1.5
_PRIOR = np.array([[0.0, 0.0, 1 / _WARMING_MBAR, 0.0], [0.0, 0.0, 0.0, 1 / _SLOWING_U]])
_PRIOR_MIDDLE = np.array([0.0, 0.0, _WARMING_MBAR, _SLOWING])
# A gas does not warm up with one time constant only, and more of it as the leak lets it in: what
# such a tail may still do, as a share of the warming over the time and of the rate (derived by
# trying curves with two time constants).
_TAIL_SHARE, _RATE_SHARE = 0.15, 0.005
_ROUNDS = 8
_PARAMETERS = 5  # with tau
_OUTLIER_SIGMAS = 5.0


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


class _Fit(NamedTuple):
    parameters: Vector  # p0, r, a, g
    covariance: Matrix  # for a scatter of 1
    squares: float  # weighted, of the residuals
    residuals: Vector


def fit_loss(curve: Curve, least_scatter_mbar: float) -> Loss:
    """Fit the curve (more points than four). least_scatter_mbar: what the digital step causes."""
    curve = _without_outliers(curve, least_scatter_mbar)
    scatter = _scatter(curve, least_scatter_mbar)
    fits = [_fit(curve, tau_s, scatter) for tau_s in _TAUS_S.tolist()]
    log_weights = np.array([_log_weight(f, t) for f, t in zip(fits, _TAUS_S, strict=True)])
    weights = np.exp(log_weights - log_weights.max())
    weights /= weights.sum()
    rates = np.array([fit.parameters[1] for fit in fits])
    rate = float(weights @ rates)
    within = np.array([fit.covariance[1, 1] for fit in fits])
    total = float(weights @ (within + (rates - rate) ** 2))
    noise = _noise_variance(curve, rate, fits[int(weights.argmax())], scatter)
    p0, _, warming, slowing = (weights @ np.array([fit.parameters for fit in fits])).tolist()
    return Loss(
        rate_mbar_s=rate,
        noise_u_mbar_s=math.sqrt(min(noise, total)),
        warming_u_mbar_s=math.sqrt(max(total - noise, 0.0)),
        model_u_mbar_s=math.hypot(_RATE_SHARE * rate, _TAIL_SHARE * warming / float(curve.t_s[-1])),
        start_mbar=p0,
        warming_mbar=warming,
        tau_s=float(np.exp(weights @ np.log(_TAUS_S))),
        slowing=slowing,
        scatter_mbar=scatter,
    )


def _fit(curve: Curve, tau_s: float, scatter_mbar: float) -> _Fit:
    """Gauss-Newton for p0, r, a and g; what is known of a and g stands as two more observations."""
    t, weight = curve.t_s, np.sqrt(curve.counts) / scatter_mbar
    warming = 1 - np.exp(-t / tau_s)
    p = np.array([curve.below_mbar[0], 0.0, _WARMING_MBAR, _SLOWING])
    for _ in range(_ROUNDS):
        design, residuals = _linear(curve, warming, p)
        rows = np.vstack((design * weight[:, None], _PRIOR))
        goal = np.append(residuals * weight, _PRIOR @ (_PRIOR_MIDDLE - p))
        p = p + np.linalg.lstsq(rows, goal, rcond=None)[0]
        p[3] = min(max(p[3], _SLOWING_LEAST), _SLOWING_MOST)
    _, residuals = _linear(curve, warming, p)
    away = _PRIOR @ (p - _PRIOR_MIDDLE)
    squares = float(((residuals * weight) ** 2).sum() + away @ away)
    return _Fit(p, np.linalg.pinv(rows.T @ rows), squares, residuals)


def _linear(curve: Curve, warming: Vector, p: Vector) -> tuple[Matrix, Vector]:
    """Derivatives of the curve by p0, r, a, g, and what is left of the readings."""
    p0, r, a, g = p.tolist()
    t = curve.t_s
    # A first guess far off must not overflow; no real vacuum grows e-fold within a record.
    slowed = np.exp(np.clip(-g * r * t / p0, None, 1.0))
    lost = p0 / g * (1 - slowed)
    by_p0 = 1 - lost / p0 + r * t / p0 * slowed
    by_g = lost / g - r * t / g * slowed
    design = np.column_stack((by_p0, -t * slowed, -warming, by_g))
    return design, curve.below_mbar - (p0 - lost - a * warming)


def _log_weight(fit: _Fit, tau_s: float) -> float:
    prior = ((math.log(tau_s / _TAU_S)) / _TAU_LOG_SD) ** 2
    determinant = float(np.linalg.slogdet(fit.covariance)[1])
    return -0.5 * (fit.squares + prior) + 0.5 * determinant


def _scatter(curve: Curve, least_mbar: float) -> float:
    best = min(
        (_fit(curve, tau, max(least_mbar, 1e-6)) for tau in _TAUS_S[::5].tolist()),
        key=lambda fit: float((curve.counts * fit.residuals**2).sum()),
    )
    freedom = max(len(curve.t_s) - _PARAMETERS, 1)
    return max(least_mbar, math.sqrt(float((curve.counts * best.residuals**2).sum()) / freedom))


def _noise_variance(curve: Curve, rate: float, fit: _Fit, scatter: float) -> float:
    """Variance of the rate if the warming were known."""
    design, _ = _linear(
        curve, np.zeros_like(curve.t_s), np.array([fit.parameters[0], rate, 0.0, fit.parameters[3]])
    )
    rows = design[:, :2] * (np.sqrt(curve.counts) / scatter)[:, None]
    return float(np.linalg.pinv(rows.T @ rows)[1, 1])


def _without_outliers(curve: Curve, least_mbar: float) -> Curve:
    fit = _fit(curve, _TAU_S, max(least_mbar, 1e-6))
    each = fit.residuals * np.sqrt(curve.counts)
    limit = _OUTLIER_SIGMAS * max(least_mbar, 1.4826 * float(np.median(np.abs(each))))
    keep = np.abs(each) <= limit
    if keep.sum() <= _PARAMETERS:
        return curve
    return Curve(curve.t_s[keep], curve.below_mbar[keep], curve.counts[keep])
