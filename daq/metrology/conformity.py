"""Is a value inside its limits, once its uncertainty is taken into account?

Sources: ISO 14253-1:2017 (default: 95 % probability, for proving conformity and nonconformity
alike; from memory) and JCGM 106:2012 clause 7 (conformance probability; read in secondary
sources). The error of measurement is taken as normal.
"""

import math
from enum import StrEnum

from scipy import special

PROBABILITY = 0.95


class Conformity(StrEnum):
    """What a measurement proves about one characteristic."""

    PROVEN_IN = "proven in"
    PROVEN_OUT = "proven out"
    NEITHER = "neither"


def conformance_probability(
    value: float, u_standard: float, lower: float | None, upper: float | None
) -> float:
    """Probability that the true value lies within the limits (JCGM 106, 7.3 and 7.4).

    None leaves a side open. With u_standard 0 it is 0 or 1; a value on a limit is inside.
    """
    below, above = _outside(value, u_standard, lower, upper)
    return max(1.0 - below - above, 0.0)


def judge(
    value: float,
    u_standard: float,
    lower: float | None,
    upper: float | None,
    probability: float = PROBABILITY,
) -> Conformity:
    """Proven inside, proven outside, or neither (ISO 14253-1).

    Proven in: the true value lies within the limits with at least `probability`, both tails
    counted. Proven out: it lies beyond one of them with at least `probability`. Raises ValueError
    for anything that is no finite number, for limits that are missing or the wrong way round.
    """
    if lower is None and upper is None:
        raise ValueError("There is no limit to judge by.")
    if not 0.5 < probability < 1.0:
        raise ValueError(f"A probability above 0.5 and below 1 is needed, not {probability}.")
    below, above = _outside(value, u_standard, lower, upper)
    if max(below, above) >= probability:
        return Conformity.PROVEN_OUT
    if 1.0 - below - above >= probability:
        return Conformity.PROVEN_IN
    return Conformity.NEITHER


def guard_band(probability: float, tolerance_over_u: float = math.inf) -> float:
    """How far inside a limit, in standard uncertainties, `probability` is just reached.

    One-sided limits have an infinite tolerance: 1.645 for 95 %. In a tolerance only a few
    uncertainties wide the far limit counts, too. Raises ValueError where the tolerance is so
    narrow that no value reaches `probability`.
    """
    far = float(special.ndtr(tolerance_over_u / 2))
    if 2 * far - 1 < probability:
        raise ValueError(f"No value reaches {probability:.0%} in {tolerance_over_u:g} u.")
    low, high = 0.0, min(tolerance_over_u / 2, 40.0)
    while high - low > 1e-13 * max(high, 1.0):
        middle = (low + high) / 2
        inside = float(special.ndtr(middle) - special.ndtr(middle - tolerance_over_u))
        low, high = (middle, high) if inside < probability else (low, middle)
    return high


def _outside(
    value: float, u_standard: float, lower: float | None, upper: float | None
) -> tuple[float, float]:
    """Probabilities that the true value lies below the lower and above the upper limit."""
    for name, number in (("value", value), ("lower limit", lower), ("upper limit", upper)):
        if number is not None and not math.isfinite(number):
            raise ValueError(f"The {name} is {number}: no finite number.")
    if not (math.isfinite(u_standard) and u_standard >= 0):
        raise ValueError(f"The standard uncertainty is {u_standard}: it must be 0 or more.")
    if lower is not None and upper is not None and lower > upper:
        raise ValueError(f"The lower limit {lower} lies above the upper limit {upper}.")
    below = 0.0 if lower is None else _beyond(lower - value, u_standard)
    above = 0.0 if upper is None else _beyond(value - upper, u_standard)
    return below, above


def _beyond(distance: float, u_standard: float) -> float:
    """Probability of being beyond a limit that the value has passed by `distance`."""
    if u_standard == 0:
        return 1.0 if distance > 0 else 0.0
    return float(special.ndtr(distance / u_standard))
