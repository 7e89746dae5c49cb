"""Risks of accepting by measured values: how often a process sends out bad or scraps good parts.

Source: JCGM 106:2012 clause 9 (global risks; the example was read in secondary sources). Process
and measurement are taken as normal.
"""

import math
from dataclasses import dataclass
from typing import NamedTuple

from scipy import integrate, special

_REACH_SIGMAS = 10.0


@dataclass(frozen=True, slots=True)
class Process:
    """What is made, and how it is measured; u_measurement is a standard uncertainty."""

    mean: float
    sd: float
    u_measurement: float


class Interval(NamedTuple):
    """From `lower` to `upper`; infinite where a side is open."""

    lower: float
    upper: float

    def share(self, mean: float, sd: float) -> float:
        """Probability of a normal quantity to lie inside."""
        return float(
            special.ndtr((self.upper - mean) / sd) - special.ndtr((self.lower - mean) / sd)
        )


class Risks(NamedTuple):
    """consumer: bad and accepted; producer: good and rejected; each as a share of all parts."""

    consumer: float
    producer: float


def global_risks(process: Process, tolerance: Interval, acceptance: Interval) -> Risks:
    """Shares of parts wrongly accepted and wrongly rejected."""
    reach = _REACH_SIGMAS * process.sd
    ends = [process.mean - reach, process.mean + reach]
    inner = [min(max(limit, ends[0]), ends[1]) for limit in tolerance]

    def accepted(low: float, high: float) -> float:
        """Share of parts with true values from `low` to `high` that are accepted."""

        def density(true: float) -> float:
            z = (true - process.mean) / process.sd
            here = math.exp(-z * z / 2) / (process.sd * math.sqrt(2 * math.pi))
            return here * acceptance.share(true, process.u_measurement)

        share, _ = integrate.quad(density, low, high, epsabs=1e-13, epsrel=1e-11, limit=200)
        return float(share)

    consumer = accepted(ends[0], inner[0]) + accepted(inner[1], ends[1])
    producer = tolerance.share(process.mean, process.sd) - accepted(*inner)
    return Risks(consumer, producer)
