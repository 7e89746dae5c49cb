"""What a motion of a pretend part is, and the two simplest: held still, and taken away.

Every motion here is invented physics. Positions are what a perfect gauge would show, in mm; the
pretend gauge adds its own noise, step and timing. `truth_mm` is for tests and nobody else.
"""

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


class Motion(Protocol):
    """Something a person does with one part at one gauge.

    duration_s: how long it takes; afterwards the gauge stays where it was. truth_mm: what a
    perfect measurement of it finds.
    """

    duration_s: float
    truth_mm: float

    def at(self, t_s: Floats, from_mm: float) -> Floats:
        """Positions in mm at times since it began; from_mm: where the gauge stood before."""
        ...


def eased(share: Floats) -> Floats:
    """0 to 1 with a hand's start and stop: no speed and no jerk at either end."""
    u = np.clip(share, 0.0, 1.0)
    share_done: Floats = u * u * u * (10.0 - 15.0 * u + 6.0 * u * u)
    return share_done


class Withdraw:
    """The part is taken out, or the gauge off the part: quickly back to where it hangs free."""

    def __init__(self, free_mm: float, rng: np.random.Generator) -> None:
        self.truth_mm = free_mm
        self.duration_s = float(rng.uniform(0.25, 0.5))

    def at(self, t_s: Floats, from_mm: float) -> Floats:
        """See `Motion`."""
        return from_mm + (self.truth_mm - from_mm) * eased(t_s / self.duration_s)


class HeldStill:
    """A micrometer closed on a part, or a depth gauge set down: approach, settle, hold.

    size_mm: what it shows once it rests. hold_s: how long it is held. tremor_mm: how far the hand
    makes it wander, peak.
    """

    def __init__(
        self,
        size_mm: float,
        rng: np.random.Generator,
        *,
        hold_s: float = 6.0,
        tremor_mm: float = 0.0003,
    ) -> None:
        self.truth_mm = size_mm
        self._approach_s = float(rng.uniform(0.5, 1.0))
        self._settle_s = float(rng.uniform(0.05, 0.15))
        self._short_mm = float(rng.uniform(0.01, 0.04))
        self._wander_hz = rng.uniform(0.3, 1.5, 3)
        self._wander_rad = rng.uniform(0.0, 2 * np.pi, 3)
        self._tremor_mm = tremor_mm
        self.duration_s = self._approach_s + hold_s

    def at(self, t_s: Floats, from_mm: float) -> Floats:
        """See `Motion`."""
        # The hand stops a little short, and the ratchet or the spring takes up the rest.
        short_mm = self.truth_mm + np.copysign(self._short_mm, from_mm - self.truth_mm)
        coming = from_mm + (short_mm - from_mm) * eased(t_s / self._approach_s)
        held_s = np.maximum(t_s - self._approach_s, 0.0)
        left = np.exp(-held_s / self._settle_s)
        waves = np.sin(2 * np.pi * np.outer(t_s, self._wander_hz) + self._wander_rad)
        wander_mm = self._tremor_mm / 3 * waves.sum(axis=1)
        held = self.truth_mm + (short_mm - self.truth_mm) * left + wander_mm
        position: Floats = np.where(t_s < self._approach_s, coming, held)
        return position
