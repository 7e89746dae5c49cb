"""What one way of reading a trace shows: its turning points, its marks and its repeat."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from daq.capture.turn import lint, noise, period, points
from daq.capture.turn.marks import Marks, joined, passages

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]

# More readings than this are averaged in blocks before the turning points are sought, so that
# the work on one trace is bounded. At 1000/s it is the first 20 s that keep every reading.
ANALYSED_READINGS_MAX = 20_000
# A less likely reading of what stands out is believed when the repeat speaks so much more clearly
# with it (natural logarithm of the odds), over so many turns.
OTHER_EVIDENCE = 1.5
PART_TURNS_MIN = 1.5


@dataclass(frozen=True, slots=True)
class Readings:
    """The readings of one part: times in s, levels in mm, marks, the step of the gauge in mm.

    pressed: the marks are presses. one_way: the person's word that the part was turned one way.
    """

    t_s: Floats
    level_mm: Floats
    mark: Bools
    pressed: bool
    one_way: bool
    step_mm: float


@dataclass(frozen=True, slots=True)
class Sight:
    """rejected: indices of readings taken for lint. width_mm: how well each level is known."""

    t_s: Floats
    level_mm: Floats
    rejected: Ints
    noise_mm: float
    points: points.Points
    width_mm: Floats
    marks: Marks
    repeat: period.Period | None

    @property
    def evidence(self) -> float:
        """Natural logarithm of the odds for the repeat; 0 without one."""
        return self.repeat.evidence if self.repeat else 0.0


def best(readings: Readings) -> Sight:
    """The reading of the trace for which most speaks; what stands out is lint unless it repeats."""
    own_noise_mm = noise.noise_mm(readings.level_mm, readings.step_mm)
    split = lint.reject(readings.t_s, readings.level_mm, own_noise_mm)
    ways = lint.doubts(readings.level_mm, split)
    chosen = _sight(readings, ways[0], None)
    span_mm = float(np.ptp(chosen.points.level_mm))
    for way in ways[1:]:
        other = _sight(readings, way, span_mm)
        if _came_again(other) and other.evidence >= chosen.evidence + OTHER_EVIDENCE:
            chosen = other
    return chosen


def _came_again(sight: Sight) -> bool:
    """Enough was seen twice to tell a nick, which comes again, from a grain, which does not."""
    return sight.repeat is not None and sight.repeat.turns >= PART_TURNS_MIN


def _sight(readings: Readings, way: lint.Lint, span_mm: float | None) -> Sight:
    """One way of reading. span_mm: the span that chance is judged against, if not its own."""
    at = np.searchsorted(way.kept, np.flatnonzero(readings.mark))
    t_s, level, at = _bounded(readings.t_s[way.kept], readings.level_mm[way.kept], at)
    noise_mm = noise.noise_mm(level, readings.step_mm)
    turning = points.find(t_s, level, noise_mm, readings.step_mm)
    own_mm = float(np.ptp(turning.level_mm))
    width = period.agreement_mm(turning, own_mm, readings.step_mm)
    marks_at = joined(t_s, level, at.tolist(), turning.swing_mm)
    marks = passages(
        level, marks_at, turning, noise_mm, pressed=readings.pressed, one_way=readings.one_way
    )
    repeat = period.find(turning, width, span_mm or own_mm, marks.turns_between)
    return Sight(t_s, level, way.rejected, noise_mm, turning, width, marks, repeat)


def _bounded(t_s: Floats, level: Floats, marks: Ints) -> tuple[Floats, Floats, Ints]:
    block = -(-len(level) // ANALYSED_READINGS_MAX)
    marks = np.minimum(marks, len(level) - 1)
    if block <= 1:
        return t_s, level, marks
    whole = len(level) // block * block
    return (
        t_s[:whole].reshape(-1, block).mean(axis=1),
        level[:whole].reshape(-1, block).mean(axis=1),
        np.minimum(marks, whole - 1) // block,
    )
