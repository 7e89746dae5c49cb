"""Harmonics of a profile over one turn, and the runout they make.

Convention: y(angle) = mean + sum over k of a_k cos(k angle + phase_k), amplitudes in mm, angles in
radians; the runout (FIM, TIR) is largest minus smallest over one turn. Elementary geometry.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

_DENSE = 4096


@dataclass(frozen=True, slots=True)
class Harmonics:
    """amplitude_mm[k - 1] and phase_rad[k - 1] belong to k waves a turn."""

    mean_mm: float
    amplitude_mm: tuple[float, ...]
    phase_rad: tuple[float, ...]

    def peak_to_valley_mm(self, waves: int) -> float:
        """Largest minus smallest of one harmonic by itself: twice its amplitude."""
        return 2.0 * self.amplitude_mm[waves - 1]

    @property
    def dominant_lobing(self) -> int:
        """Waves a turn of the largest harmonic from the second on (the first is eccentricity)."""
        return 2 + int(np.argmax(self.amplitude_mm[1:]))


def fit(angle_rad: Floats, level_mm: Floats, count: int) -> Harmonics:
    """The first `count` harmonics by least squares; the angles need not be evenly spaced.

    Raises ValueError where there are fewer readings than unknowns (2 count + 1).
    """
    if len(angle_rad) < 2 * count + 1:
        raise ValueError(f"{count} harmonics need at least {2 * count + 1} readings of one turn.")
    waves = np.arange(1, count + 1)
    turned = np.outer(angle_rad, waves)
    design = np.hstack([np.ones((len(angle_rad), 1)), np.cos(turned), np.sin(turned)])
    solution = np.linalg.lstsq(design, level_mm, rcond=None)[0]
    cosine, sine = solution[1 : count + 1], solution[count + 1 :]
    return Harmonics(
        float(solution[0]),
        tuple(np.hypot(cosine, sine).tolist()),
        tuple(np.arctan2(-sine, cosine).tolist()),
    )


def runout_mm(amplitude_mm: Sequence[float], phase_rad: Sequence[float]) -> float:
    """Largest minus smallest over one turn of a sum of harmonics 1, 2, ...; mm.

    The extremes of a dense grid, each sharpened by Newton's method on the derivative.
    """
    waves = np.arange(1, len(amplitude_mm) + 1)
    amplitude, phase = np.array(amplitude_mm), np.array(phase_rad)

    def at(angle: Floats, order: int) -> Floats:
        """The profile's derivative of the given order."""
        turned = np.outer(angle, waves) + phase + order * math.pi / 2.0
        return np.asarray(np.cos(turned) @ (amplitude * waves**order), dtype=np.float64)

    grid = np.linspace(0.0, 2.0 * math.pi, _DENSE, endpoint=False)
    level = at(grid, 0)
    ends = np.array([grid[int(np.argmax(level))], grid[int(np.argmin(level))]])
    for _ in range(4):
        bend = at(ends, 2)
        ends = ends - np.where(bend != 0.0, at(ends, 1) / np.where(bend != 0.0, bend, 1.0), 0.0)
    high, low = at(ends, 0)
    return float(max(high, level.max()) - min(low, level.min()))


def eccentricity_mm(runout_mm: float) -> float:
    """Eccentricity of a round part from its runout: a pure offset e shows 2 e."""
    return runout_mm / 2.0


def coaxiality_offset_mm(tolerance_diameter_mm: float) -> float:
    """Largest offset that a coaxiality tolerance written with a diameter sign allows."""
    return tolerance_diameter_mm / 2.0


def offset_circle_ovality_mm(radius_mm: float, offset_mm: float) -> float:
    """False second harmonic (amplitude) of a perfect circle that runs out; series e^2 / (4 R)."""
    return offset_mm**2 / (4.0 * radius_mm)


def least_seen_share(samples_per_turn: int, waves: int = 1) -> float:
    """Least possible (max - min of samples) / (true runout), evenly spaced samples of one wave.

    cos(pi / N) for an even number N of samples a wave, (1 + cos(pi / N)) / 2 for an odd one.
    """
    per_wave = samples_per_turn / waves
    closest = math.cos(math.pi / per_wave)
    odd = float(per_wave).is_integer() and int(per_wave) % 2 == 1
    return (1.0 + closest) / 2.0 if odd else closest


def cosine_factor(angle_deg: float) -> float:
    """True over indicated displacement where the stylus is off its line by this angle."""
    return math.cos(math.radians(angle_deg))


def face_runout_mm(face_angle_deg: float, offset_mm: float) -> float:
    """Runout square to a cone offset radially; its angle is from the plane across the axis."""
    return 2.0 * offset_mm * math.sin(math.radians(face_angle_deg))
