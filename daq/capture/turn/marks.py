"""Once-per-turn marks: an index on the part, or a press as a paint mark passes.

An index that comes by twice proves a turn only if it came by in the same direction: rocking over
it trips it on the way back, too. The direction is read off the slope of the trace, which has the
same sign whenever the same place passes the same way.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from daq.capture.turn.level import smoothed

Floats = npt.NDArray[np.float64]

# Readings on either side of a mark over which the slope is taken.
SLOPE_READINGS = 3
# A slope counts when the trace changes by this many noise standard deviations across the mark.
SLOPE_NOISES = 4.0
# Two marks closer than this with no swing between them are one: no hand turns a part in it.
BOUNCE_S = 0.3
# Turns are estimated from turning points to about this; a person presses early or late by more.
MARK_SLACK_TURNS = 0.35
PRESS_SLACK_TURNS = 0.7


@dataclass(frozen=True, slots=True)
class Marks:
    """at: indices of the passages that count; whole_turns: proven between the first and the last.

    disputed: some passage came back the other way. exact: an index, not a press. directed: the
    slope of every passage that counts says that it was the same way round.
    """

    at: tuple[int, ...]
    whole_turns: int
    disputed: bool
    exact: bool = True
    directed: bool = False

    @property
    def turns_between(self) -> tuple[float, float]:
        """Between what numbers of turns the whole trace lies, as far as the marks say."""
        if self.whole_turns == 0:
            return 0.0, np.inf
        slack = MARK_SLACK_TURNS if self.exact else PRESS_SLACK_TURNS
        return self.whole_turns - slack, self.whole_turns + 2.0 + slack


def passages(value_mm: Floats, mark_at: list[int], noise_mm: float, *, pressed: bool) -> Marks:
    """Which marks count as whole turns. `mark_at`: indices of the marked readings, rising.

    Presses are a person's own count of turns; they come too early or too late for a slope.
    """
    if len(mark_at) < 2 or pressed:
        return Marks(tuple(mark_at), max(0, len(mark_at) - 1), disputed=False, exact=not pressed)
    line, factor = smoothed(value_mm, 5)
    slopes = [_direction(line, at, SLOPE_NOISES * noise_mm * factor) for at in mark_at]
    forward = 1 if slopes.count(1) >= slopes.count(-1) else -1
    # Walk the marks: a passage backwards takes the next passage forwards to undo it.
    counted: list[int] = []
    owed = 0
    for at, slope in zip(mark_at, slopes, strict=True):
        if slope == -forward:
            owed += 1
        elif owed:
            owed -= 1
        else:
            counted.append(at)
    disputed = forward in slopes and -forward in slopes
    directed = all(slopes[mark_at.index(at)] == forward for at in counted)
    return Marks(tuple(counted), max(0, len(counted) - 1), disputed, directed=directed)


def _direction(line: Floats, at: int, least_mm: float) -> int:
    change = line[min(len(line) - 1, at + SLOPE_READINGS)] - line[max(0, at - SLOPE_READINGS)]
    if abs(change) < least_mm:
        return 0
    return 1 if change > 0 else -1


def joined(t_s: Floats, value_mm: Floats, mark_at: list[int], swing_mm: float) -> list[int]:
    """Marks without echoes: a mark held over several readings, or bouncing, counts once."""
    kept: list[int] = []
    previous = -2
    for at in mark_at:
        held = at - previous <= 1
        bounced = bool(kept) and (
            t_s[at] - t_s[previous] < BOUNCE_S
            and float(np.ptp(value_mm[previous : at + 1])) < swing_mm
        )
        if not held and not bounced:
            kept.append(at)
        previous = at
    return kept
