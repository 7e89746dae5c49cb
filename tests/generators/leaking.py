"""A vacuum that a part loses, invented; shares no code with the evaluator.

The gas flows in by whichever law is chosen: in proportion to the difference, as through a long
narrow gap (absolute pressures squared), as its root (an open hole), or as its square (a gap that
closes as the vacuum goes). What is left of the gas was cooled by pumping and warms up
with two time constants, one near the wall and one in the middle. Optionally the pump is still seen
at the beginning and the venting at the end.
"""

from dataclasses import dataclass

import numpy as np

from drivers.reading import Reading, Unit

AMBIENT_MBAR = 990.0
# The loss as a power of the difference.
_POWERS = {"difference": 1.0, "root": 0.5, "steep": 2.0}


@dataclass(frozen=True)
class Leaking:
    """The part, the pump and the gauge. Pressures in mbar below ambient."""

    start_mbar: float = 600.0
    volume_l: float = 0.25
    leak_mbar_l_s: float = 0.1
    law: str = "difference"  # or "squares", "root", "steep"
    cooled_k: float = 0.6
    warming_s: float = 4.0
    length_s: float = 30.0
    rate_hz: float = 5.0
    noise_mbar: float = 0.12
    step_mbar: float = 0.1
    pump_s: float = 0.0
    vent: bool = False

    @property
    def rate_mbar_s(self) -> float:
        """The loss rate at the start of the leak alone."""
        return self.leak_mbar_l_s / self.volume_l


def lost(part: Leaking, seed: int) -> list[Reading]:
    """The readings of one test."""
    chance = np.random.default_rng(seed)
    fine_s = 0.01
    t = np.arange(0, part.length_s, fine_s)
    below = np.empty_like(t)
    below[0] = part.start_mbar
    for place in range(1, len(t)):
        below[place] = below[place - 1] - fine_s * _loss(part, below[place - 1])
    rest = 0.7 * np.exp(-t / part.warming_s) + 0.3 * np.exp(-t / (part.warming_s / 4))
    below -= (AMBIENT_MBAR - below) * part.cooled_k / 293.0 * (1 - rest)
    if part.pump_s:
        pumping = np.arange(0, part.pump_s, fine_s)
        rising = part.start_mbar * (1 - np.exp(-5 * pumping / part.pump_s)) / (1 - np.exp(-5))
        below = np.concatenate((rising, below))
    if part.vent:
        below = np.concatenate((below, below[-1] * np.exp(-np.arange(0, 2, fine_s) / 0.15)))
    times = np.arange(0, len(below) * fine_s - 0.02, 1 / part.rate_hz)
    values = np.interp(times, np.arange(len(below)) * fine_s, below)
    counts = np.rint((values + chance.normal(0, part.noise_mbar, len(values))) / part.step_mbar)
    return [
        Reading(
            "vacuum", "", round(t * 1e4) / 1e4, round(c * part.step_mbar * 1e6) / 1e6, Unit.MBAR
        )
        for t, c in zip(times.tolist(), counts.tolist(), strict=True)
    ]


def _loss(part: Leaking, below_mbar: float) -> float:
    if part.law in _POWERS:
        share = max(0.0, below_mbar / part.start_mbar) ** _POWERS[part.law]
    else:
        inside, at_start = AMBIENT_MBAR - below_mbar, AMBIENT_MBAR - part.start_mbar
        share = (AMBIENT_MBAR**2 - inside**2) / (AMBIENT_MBAR**2 - at_start**2)
    return part.rate_mbar_s * share
