"""Turning points: the highs and lows of a trace, in order, with their levels.

They are what survives any uneven speed. A swing counts when it is larger than the noise can
make; how high a turning point stands is worked out in `level.py`.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from daq.capture.turn.level import smoothed, top

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

# N readings of pure noise span about 2 sqrt(2 ln N) standard deviations (extreme values of a
# normal sample); a swing counts when it is larger than that by this many more.
SWING_NOISES_BEYOND = 1.0
# ... more than one flicker between two steps of the gauge, which no smoothing takes out when
# the level creeps over an edge, and more than a part at rest wanders by itself.
SWING_STEPS = 1.6
SWING_STEPS_SMOOTHED = 1.2
SWING_FLOOR_MM = 0.0008
SMOOTH_READINGS = (5, 9, 15, 25, 45, 81)
# Smooth over this share of a half wave: a parabola fits that much of a cosine within 0.1 %.
SMOOTH_SHARE = 0.25


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
    """The turning points of a trace freed of lint. Times in s, levels in mm.

    Smoothed as far as the turning points themselves allow: as long as even the shorter legs
    are several times the smoothing, nothing of them is lost, and smaller swings come out.
    """
    line, swing_mm = value_mm, _least_swing_mm(len(value_mm), noise_mm, step_mm, 1.0)
    rough = zigzag(line, swing_mm)
    for width in SMOOTH_READINGS:
        legs = np.diff(rough)
        shortest = float(np.quantile(legs, 0.25)) if len(legs) > 1 else float(len(value_mm)) / 8.0
        if width > SMOOTH_SHARE * shortest:
            break
        line, factor = smoothed(value_mm, width)
        swing_mm = _least_swing_mm(len(value_mm) // width, noise_mm, step_mm, factor)
        rough = zigzag(line, swing_mm)
    return _levelled(t_s, value_mm, line, rough, noise_mm, swing_mm)


def _least_swing_mm(independent: int, noise_mm: float, step_mm: float, factor: float) -> float:
    spans = 2.0 * np.sqrt(2.0 * np.log(max(independent, 4))) + SWING_NOISES_BEYOND
    steps = SWING_STEPS if factor == 1.0 else SWING_STEPS_SMOOTHED
    return float(max(spans * noise_mm * factor, steps * step_mm, SWING_FLOOR_MM))


def _levelled(
    t_s: Floats, value_mm: Floats, line: Floats, at: list[int], noise_mm: float, swing_mm: float
) -> Points:
    count = len(at)
    level, u, loss = np.empty(count), np.empty(count), np.zeros(count)
    for k in range(count):
        before = at[k - 1] if k else 0
        after = at[k + 1] if k + 1 < count else len(value_mm) - 1
        legs = [abs(line[at[k]] - line[j]) for j in (before, after) if j != at[k]]
        sign = _side(line, at, k)
        found = top(
            sign * value_mm[before : after + 1],
            sign * line[before : after + 1],
            at[k] - before,
            noise_mm,
            float(min(legs, default=0.0)),
        )
        level[k], u[k], loss[k] = sign * found.level_mm, found.u_mm, found.loss_mm
    where = np.array(at, dtype=np.intp)
    return Points(where, t_s[where], level, u, loss, swing_mm)


def _side(line: Floats, at: list[int], k: int) -> float:
    """+1 at a high, -1 at a low."""
    if len(at) == 1:
        return 1.0
    other = at[k + 1] if k + 1 < len(at) else at[k - 1]
    return 1.0 if line[at[k]] >= line[other] else -1.0
