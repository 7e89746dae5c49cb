"""How high a turning point stands, from the readings near it.

The largest single reading is too large by noise and too small by what passed between readings. A
parabola over many readings averages the noise; over too many it flattens the top, because the
hand paused on one flank or hurried over the other. So the widest parabola is taken that does not
stand lower than the narrow ones say it must.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

# The top is fitted over readings within this much of the outermost.
BAND_NOISES = 4.0
BAND_SHARE = 0.06
WIDTHS = (5, 9, 15, 25, 41)
# A wider parabola may stand this many standard deviations below a narrower one, not more.
FLATTER_SIGMAS = 1.0
# Three readings on a top are joined by a parabola; of its bend (second difference) this share
# may still be wrong where the speed changes between them (found with simulated hands).
SAMPLING_SHARE = 0.06
# The same where a hand sets off from a pause; steps smaller than this are noise.
HURRIED_SHARE = 0.35
STEP_NOISES = 5.0


@dataclass(frozen=True, slots=True)
class Top:
    """Level, its standard uncertainty from noise, and from what lay between readings; mm."""

    level_mm: float
    u_mm: float
    loss_mm: float


@lru_cache(maxsize=128)
def quadratic_kernel(width: int) -> Floats:
    """Weights of the value at the centre of a parabola fitted to `width` (odd) even samples."""
    half = width // 2
    x = np.arange(-half, half + 1, dtype=np.float64)
    s0, s2, s4 = float(width), float(np.sum(x**2)), float(np.sum(x**4))
    kernel: Floats = (s4 - s2 * x**2) / (s0 * s4 - s2 * s2)
    return kernel


@lru_cache(maxsize=128)
def noise_factor(width: int) -> float:
    """By how much such a parabola lowers white noise."""
    return float(np.sqrt(np.sum(quadratic_kernel(width) ** 2)))


def smoothed(value_mm: Floats, width: int) -> tuple[Floats, float]:
    """Local parabola over `width` readings, and the factor by which it lowers white noise."""
    if width < WIDTHS[0] or len(value_mm) <= width:
        return value_mm, 1.0
    padded = np.pad(value_mm, width // 2, mode="edge")
    return np.convolve(padded, quadratic_kernel(width), mode="valid"), noise_factor(width)


def top(value_mm: Floats, line: Floats, at: int, noise_mm: float, leg_mm: float) -> Top:
    """The level of the high near index `at` of one high's readings (a low is handed in negated).

    line: the same readings smoothed. leg_mm: the smaller of the two swings that meet here.
    """
    band_mm = max(BAND_NOISES * noise_mm, BAND_SHARE * leg_mm)
    near = line >= line[at] - band_mm
    far = WIDTHS[-1]
    before, after = np.flatnonzero(~near[:at]), np.flatnonzero(~near[at:])
    first = max(int(before[-1]) + 1 if len(before) else 0, at - far)
    last = min(at + (int(after[0]) if len(after) else len(near) - at), at + far + 1)
    inside = value_mm[first:last]
    if len(inside) < WIDTHS[0]:
        found = _three_point(value_mm, first + int(np.argmax(inside)), noise_mm)
    else:
        found = _widest(inside, noise_mm)
    return _hurried(value_mm, found, (first, last - 1), noise_mm)


def _hurried(value_mm: Floats, found: Top, ends: tuple[int, int], noise_mm: float) -> Top:
    """What may have passed unseen where a hand set off fast from a pause near the top.

    The parabola through the last reading near the top and the two beyond it, at even speed, has
    its summit between them if the second step is more than three times the first; by then the
    part was past the top. The hand speeds up, so that only part of it is believed.
    """
    hidden = 0.0
    for at, side in ((ends[0], -1), (ends[1], 1)):
        if not 0 <= at + 2 * side < len(value_mm):
            continue
        here, near, far = (float(value_mm[at + k * side]) for k in range(3))
        slow, fast = here - near, near - far
        if fast - 3.0 * slow > STEP_NOISES * noise_mm and fast > slow:
            summit = here + (fast - 3.0 * slow) ** 2 / (8.0 * (fast - slow))
            hidden = max(hidden, summit - found.level_mm)
    loss = max(found.loss_mm, HURRIED_SHARE * hidden)
    return Top(found.level_mm + HURRIED_SHARE * hidden, found.u_mm, loss)


def _widest(inside: Floats, noise_mm: float) -> Top:
    """The widest parabola that no narrower one contradicts."""
    best, least = 0.0, -np.inf
    u_mm = noise_mm
    for width in WIDTHS:
        if width > len(inside):
            break
        fitted = np.convolve(inside, quadratic_kernel(width), mode="valid")
        level, u = float(np.max(fitted)), noise_mm * noise_factor(width)
        if level < least:
            break
        # The largest of several fits is too large by noise: by about sqrt(2 ln n) of it.
        tries = max(1.0, len(inside) / width)
        excess = u * (np.sqrt(2.0 * np.log(tries)) if tries > 1 else 0.0)
        best, u_mm = level, u
        least = max(least, level - excess - FLATTER_SIGMAS * u)
    return Top(best, u_mm, 0.0)


def _three_point(value_mm: Floats, at: int, noise_mm: float) -> Top:
    """Vertex of the parabola through the outermost reading and its two neighbours."""
    if at == 0 or at == len(value_mm) - 1:
        return Top(float(value_mm[at]), noise_mm, 0.0)
    a, b, c = (float(value_mm[at + k]) for k in (-1, 0, 1))
    bend = a - 2.0 * b + c
    if bend >= 0.0 or b < max(a, c):
        return Top(float(value_mm[at]), noise_mm, 0.0)
    return Top(b + (a - c) ** 2 / (-8.0 * bend), noise_mm, SAMPLING_SHARE * -bend)
