"""The gauge's step and noise, found from the readings themselves."""

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

NM_PER_MM = 1_000_000
# Readings lie on a grid of a nanometre: nothing is known better.
NOISE_MM_MIN = 1e-6
# The quietest shares of the second differences, pauses and flats rather than the turning itself,
# with E[z^2 | |z| is within that share] for a standard normal z (derived numerically).
STILL_SHARE, STILL_MEAN_SQUARE = 0.35, 0.066768
QUIET_SHARE, QUIET_MEAN_SQUARE = 0.6, 0.214594


def step_mm(value_mm: Floats) -> float:
    """The largest step of which all changes are whole multiples, on the nanometre grid; mm.

    0 when nothing changes, so nothing is known.
    """
    changes = np.diff(np.rint(value_mm * NM_PER_MM).astype(np.int64))
    return float(np.gcd.reduce(np.abs(changes))) / NM_PER_MM if len(changes) else 0.0


def noise_mm(value_mm: Floats, resolution_mm: float) -> float:
    """Standard deviation of a single reading, rounding included; mm.

    Second differences cancel a steady motion (variance 6 sigma^2 for white noise); only their
    stillest share is used, so that turning fast does not count as noise. Where the noise is
    smaller than the step, the stillest are all nought, and a larger share is asked. Never below
    the standard deviation of rounding, resolution / sqrt(12) (GUM F.2.2.1).
    """
    floor = resolution_mm / np.sqrt(12.0)
    if len(value_mm) < 5:
        return float(max(floor, NOISE_MM_MIN))
    second = np.sort(np.abs(np.diff(value_mm, 2)))
    still = _sigma(second, STILL_SHARE, STILL_MEAN_SQUARE)
    rounded = min(_sigma(second, QUIET_SHARE, QUIET_MEAN_SQUARE), resolution_mm / 2.0)
    return float(max(still, rounded, floor, NOISE_MM_MIN))


def _sigma(second: Floats, share: float, mean_square: float) -> float:
    quiet = second[: max(2, int(share * len(second)))]
    return float(np.sqrt(np.mean(quiet**2) / mean_square / 6.0))
