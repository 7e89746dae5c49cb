"""The harmonics of a turned part, where the angle can be known well enough.

Between two passages of the same turning point the part has made one turn; in between, the hand
decides. With pauses taken out, the time within a turn stands for the angle; whether that is true
shows when turn after turn the turning points fall at the same share of the turn. Only then are
harmonics reported, with that scatter beside them.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from daq.capture.turn.level import smoothed
from daq.capture.turn.sight import Sight
from daq.metrology.harmonics import Harmonics, fit

Floats = npt.NDArray[np.float64]

HARMONICS = 7
# Of a turn: turning points that wander more than this between turns make the angle unknown.
SCATTER_TURNS_MAX = 0.0125
WHOLE_TURNS_MIN = 2
# A stretch that spans less than this many noise standard deviations is a pause.
PAUSE_NOISES = 3.0
REST_S = 0.3


@dataclass(frozen=True, slots=True)
class Shape:
    """harmonics over the folded turns; scatter_turns: rms wander of turning points, in turns."""

    harmonics: Harmonics
    scatter_turns: float
    turns: int


def of(sight: Sight) -> Shape | None:
    """The shape, or None where the hand was too uneven or fewer than two whole turns repeat."""
    repeat = sight.repeat
    if repeat is None or len(repeat.inner) <= WHOLE_TURNS_MIN * repeat.size or repeat.slips:
        return None
    at = sight.points.at[np.array(repeat.inner)]
    moved_s = moving_time(sight)
    starts = at[:: repeat.size]
    marks_s = moved_s[starts]
    if np.any(np.diff(marks_s) <= 0.0):
        return None
    turn = np.interp(moved_s, marks_s, np.arange(len(starts), dtype=np.float64))
    scatter = _scatter(turn[at], repeat.size)
    if scatter > SCATTER_TURNS_MAX:
        return None
    inside = slice(int(starts[0]), int(starts[-1]))
    drift = repeat.drift_mm_per_s * sight.t_s[inside]
    angle = 2.0 * np.pi * (turn[inside] % 1.0)
    moving = np.diff(moved_s, prepend=moved_s[0])[inside] > 0.0
    if np.count_nonzero(moving) < 4 * HARMONICS:
        return None
    folded = fit(angle[moving], (sight.level_mm[inside] - drift)[moving], HARMONICS)
    return Shape(folded, scatter, len(starts) - 1)


def told(shape: Shape) -> dict[str, Any]:
    """The shape as JSON-able facts."""
    peaks = [shape.harmonics.peak_to_valley_mm(n) for n in range(1, HARMONICS + 1)]
    return {
        "peak_to_valley_mm": peaks,
        "dominant_lobing": shape.harmonics.dominant_lobing,
        "turns": shape.turns,
        "scatter_turns": shape.scatter_turns,
        "note": "the angle is inferred: even speed between the turning points, pauses left out",
    }


def moving_time(sight: Sight) -> Floats:
    """Time since the start with the rests left out; s. A rest spans but noise for REST_S."""
    line, factor = smoothed(sight.level_mm, 9)
    window = max(3, int(REST_S / max(float(np.median(np.diff(sight.t_s))), 1e-4)))
    if len(line) <= window:
        return np.asarray(sight.t_s - sight.t_s[0], dtype=np.float64)
    views = np.lib.stride_tricks.sliding_window_view(line, window)
    rests = np.ptp(views, axis=1) < PAUSE_NOISES * sight.noise_mm * max(factor, 0.5)
    resting = np.zeros(len(line), dtype=np.bool_)
    for at in np.flatnonzero(rests).tolist():
        resting[at : at + window] = True
    # Tops are flat for everyone: a rest there would cut the very readings that matter.
    for at in sight.points.at.tolist():
        resting[max(0, at - window) : at + window] = False
    step: Floats = np.where(resting[1:], 0.0, np.diff(sight.t_s))
    moving: Floats = np.concatenate([[0.0], np.cumsum(step)])
    return moving


def _scatter(turn_at: Floats, size: int) -> float:
    """Root mean square of how far each turning point wanders from its mean place in the turn."""
    off = [turn_at[k::size] - np.arange(len(turn_at[k::size])) for k in range(1, size)]
    wander = np.concatenate([row - np.mean(row) for row in off if len(row) > 1])
    return float(np.sqrt(np.mean(wander**2))) if len(wander) else np.inf
