"""The gauge's step and noise, found from the readings themselves."""

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

NM_PER_MM = 1_000_000
# The quietest share of the second differences: pauses and flats, not the turning itself.
QUIET_SHARE = 0.6
# E[z^2 | |z| is among its quietest 60 %] for a standard normal z (derived numerically).
QUIET_MEAN_SQUARE = 0.214594


def step_mm(value_mm: Floats) -> float:
    """The largest step of which all changes are whole multiples, on the nanometre grid; mm.

    0 when nothing changes, so nothing is known.
    """
    changes = np.diff(np.rint(value_mm * NM_PER_MM).astype(np.int64))
    return float(np.gcd.reduce(np.abs(changes))) / NM_PER_MM if len(changes) else 0.0


def noise_mm(value_mm: Floats, resolution_mm: float) -> float:
    """Standard deviation of a single reading, rounding included; mm.

    Second differences cancel a steady motion (variance 6 sigma^2 for white noise); only their
    quiet share is used, so that the turning does not count as noise. Never below the standard
    deviation of rounding, resolution / sqrt(12) (GUM F.2.2.1).
    """
    floor = resolution_mm / np.sqrt(12.0)
    if len(value_mm) < 5:
        return float(floor)
    second = np.abs(np.diff(value_mm, 2))
    quiet = np.sort(second)[: max(2, int(QUIET_SHARE * len(second)))]
    seen = np.sqrt(np.mean(quiet**2) / QUIET_MEAN_SQUARE / 6.0)
    return float(max(seen, floor, 1e-6))
