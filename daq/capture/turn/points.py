"""Turning points: the highs and lows of a trace, in order, with their levels.

They are what survives any uneven speed. A swing counts when it is larger than the noise can
make; the level of a high or low is a local parabola over the readings near it, because the
largest single reading is too large by noise and too small by what was not sampled.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

# A swing this many standard deviations of the (smoothed) noise is no noise.
SWING_NOISES = 6.5
# ... and it is more than one flicker between two steps of the gauge.
SWING_STEPS = 1.6
SMOOTH_READINGS_MAX = 25
# Smooth over this share of a half wave: a parabola fits that much of a cosine within 0.1 %.
SMOOTH_SHARE = 0.25
# The level is fitted over readings within this much of the extreme.
BAND_NOISES = 4.0
BAND_SHARE = 0.06
FIT_READINGS_MAX = 41
# Three readings on a top are joined by a parabola; of its bend (second difference) this share
# may still be wrong where the speed changes between them (found with simulated hands).
SAMPLING_SHARE = 0.08


@dataclass(frozen=True, slots=True)
class Points:
    """Turning points in order of time; first and last are where the trace begins and ends.

    at: index of the reading; level_mm and u_mm: level and its standard uncertainty from noise
    and rounding; loss_mm: standard uncertainty from what lay between the readings; swing_mm:
    the smallest swing that counted.
    """

    at: Ints
    t_s: Floats
    level_mm: Floats
    u_mm: Floats
    loss_mm: Floats
    swing_mm: float

    def __len__(self) -> int:
        return len(self.at)


def quadratic_kernel(width: int) -> Floats:
    """Weights of the value at the centre of a parabola fitted to `width` (odd) even samples."""
    half = width // 2
    x = np.arange(-half, half + 1, dtype=np.float64)
    s0, s2, s4 = float(width), float(np.sum(x**2)), float(np.sum(x**4))
    kernel: Floats = (s4 - s2 * x**2) / (s0 * s4 - s2 * s2)
    return kernel


def smoothed(value_mm: Floats, width: int) -> tuple[Floats, float]:
    """Local parabola over `width` readings, and the factor by which it lowers white noise."""
    if width < 5 or len(value_mm) <= width:
        return value_mm, 1.0
    kernel = quadratic_kernel(width)
    half = width // 2
    padded = np.concatenate([np.full(half, value_mm[0]), value_mm, np.full(half, value_mm[-1])])
    return np.convolve(padded, kernel, mode="valid"), float(np.sqrt(np.sum(kernel**2)))


def zigzag(value_mm: Floats, swing_mm: float) -> list[int]:
    """Indices of alternating highs and lows between which the trace swings by `swing_mm` or more.

    The first and the last entry are the ends of the first and the last leg, which may go on.
    """
    change = np.sign(np.diff(value_mm))
    moving = np.flatnonzero(change)
    if len(moving) == 0:
        return [0]
    turns = moving[1:][change[moving[1:]] != change[moving[:-1]]]
    candidates = [0, *turns.tolist(), len(value_mm) - 1]
    levels = value_mm[candidates].tolist()
    low = high = 0
    pivots: list[int] = []
    rising = 0
    for k, level in enumerate(levels):
        high = k if level > levels[high] else high
        low = k if level < levels[low] else low
        if rising >= 0 and levels[high] - level >= swing_mm:
            pivots.append(high)
            rising, low, high = -1, k, k
        elif rising <= 0 and level - levels[low] >= swing_mm:
            pivots.append(low)
            rising, low, high = 1, k, k
    if not rising:
        return [0]
    pivots.append(high if rising > 0 else low)
    return [candidates[k] for k in pivots]


def find(t_s: Floats, value_mm: Floats, noise_mm: float, step_mm: float) -> Points:
    """The turning points of a trace freed of lint. Times in s, levels in mm."""
    swing_mm = max(SWING_NOISES * noise_mm, SWING_STEPS * step_mm)
    rough = zigzag(value_mm, swing_mm)
    width = _smoothing(rough)
    line, factor = smoothed(value_mm, width)
    if factor < 1.0:
        swing_mm = max(SWING_NOISES * noise_mm * np.sqrt(factor), SWING_STEPS * step_mm * factor)
        rough = zigzag(line, swing_mm)
    return _levelled(t_s, value_mm, line, rough, noise_mm, float(swing_mm))


def _smoothing(rough: list[int]) -> int:
    if len(rough) < 3:
        return 1
    shortest = float(np.quantile(np.diff(rough), 0.25))
    width = int(SMOOTH_SHARE * shortest) | 1
    return min(width, SMOOTH_READINGS_MAX)


def _levelled(
    t_s: Floats, value_mm: Floats, line: Floats, at: list[int], noise_mm: float, swing_mm: float
) -> Points:
    count = len(at)
    level, u, loss = np.empty(count), np.empty(count), np.zeros(count)
    where = np.array(at, dtype=np.intp)
    for k in range(count):
        before = at[k - 1] if k else 0
        after = at[k + 1] if k + 1 < count else len(value_mm) - 1
        legs = [abs(line[at[k]] - line[j]) for j in (before, after) if j != at[k]]
        sign = _side(line, at, k)
        band = max(BAND_NOISES * noise_mm, BAND_SHARE * min(legs, default=0.0))
        level[k], u[k], loss[k] = _level(value_mm, line, at[k], (before, after), sign, band)
        u[k] *= noise_mm
    return Points(where, t_s[where], level, u, loss, swing_mm)


def _side(line: Floats, at: list[int], k: int) -> float:
    """+1 at a high, -1 at a low."""
    if len(at) == 1:
        return 1.0
    other = at[k + 1] if k + 1 < len(at) else at[k - 1]
    return 1.0 if line[at[k]] >= line[other] else -1.0


def _level(
    value_mm: Floats, line: Floats, at: int, reach: tuple[int, int], sign: float, band_mm: float
) -> tuple[float, float, float]:
    """Level, noise factor and sampling loss of the turning point near index `at`."""
    first, last = at, at
    far = FIT_READINGS_MAX
    while first > reach[0] and at - first < far and sign * (line[at] - line[first - 1]) <= band_mm:
        first -= 1
    while last < reach[1] and last - at < far and sign * (line[at] - line[last + 1]) <= band_mm:
        last += 1
    width = min(last - first + 1, FIT_READINGS_MAX)
    if width < 5:
        return _three_point(value_mm, at, sign)
    width -= 1 - width % 2
    kernel = quadratic_kernel(width)
    near = value_mm[first : last + 1]
    fitted = np.convolve(near, kernel, mode="valid") if len(near) >= width else near
    factor = float(np.sqrt(np.sum(kernel**2)))
    return float(sign * np.max(sign * fitted)), factor, 0.0


def _three_point(value_mm: Floats, at: int, sign: float) -> tuple[float, float, float]:
    """Vertex of the parabola through the outermost reading and its two neighbours."""
    if at == 0 or at == len(value_mm) - 1:
        return float(value_mm[at]), 1.0, 0.0
    a, b, c = (float(sign * value_mm[at + k]) for k in (-1, 0, 1))
    bend = a - 2.0 * b + c
    if bend >= 0.0 or b < max(a, c):
        return float(value_mm[at]), 1.0, 0.0
    rise = (a - c) ** 2 / (-8.0 * bend)
    return sign * (b + rise), 1.0, SAMPLING_SHARE * -bend
