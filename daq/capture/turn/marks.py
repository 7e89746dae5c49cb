"""Once-per-turn marks: an index on the part, or a press as a paint mark passes.

An index that comes by twice proves a turn only if it came by in the same direction: rocking over
it trips it on the way back, too. The direction is read off the trace, which rises or falls alike
whenever the same place passes the same way.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from daq.capture.turn.points import Points

Floats = npt.NDArray[np.float64]

# Whether the trace rises or falls at a mark is read off a line through this share of the leg on
# either side, and off how far the mark stands from the turning points around it.
LINE_SHARE = 0.2
# Natural logarithm of the odds that prove something; the second caps what one passage can say.
PROVEN = 5.0
SIGMAS_MAX = 8.0
# So near to a turning point a part may come back over its mark between two readings.
RETURN_READINGS = 1
# Two marks closer than this with no swing between them are one: no hand turns a part in it.
BOUNCE_S = 0.3
# Turns are estimated from turning points to about this; a person presses early or late by more.
MARK_SLACK_TURNS = 0.35
PRESS_SLACK_TURNS = 0.7


class Passage(NamedTuple):
    """first and last: indices of the readings marked as it passed."""

    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Marks:
    """at: indices of the passages. whole_turns: so many were made for certain. disputed: some
    passage went the other way, or turned back on the mark. exact: an index, not a press.
    """

    at: tuple[int, ...]
    whole_turns: int
    disputed: bool
    exact: bool = True

    @property
    def turns_if_onward(self) -> int:
        """Whole turns between the first and the last passage if none was a way back."""
        return max(0, len(self.at) - 1)

    @property
    def turns_between(self) -> tuple[float, float]:
        """Between what numbers of turns the whole trace lies, as far as the marks say."""
        if self.whole_turns == 0:
            return 0.0, np.inf
        slack = MARK_SLACK_TURNS if self.exact else PRESS_SLACK_TURNS
        return self.whole_turns - slack, self.turns_if_onward + 2.0 + slack


def passages(
    value_mm: Floats,
    marked: list[Passage],
    points: Points,
    noise_mm: float,
    *,
    pressed: bool,
    one_way: bool,
) -> Marks:
    """How many whole turns the marks prove. marked: as `joined` gives them.

    Presses are a person's own count of turns; they come too early or too late for a direction.
    one_way: the person's word: a passage whose direction cannot be told went on.
    """
    at = tuple(each.first for each in marked)
    if len(at) < 2 or pressed:
        return Marks(at, max(0, len(at) - 1), disputed=False, exact=not pressed)
    returned = np.array([_may_have_returned(each, points) for each in marked])
    # A turn has a high and a low: two passages on one leg are no turn, and the leg is but drift.
    legs = np.searchsorted(points.at, at).tolist()
    rises = [
        0.0 if unsure or legs.count(leg) > 1 else _rise_sigmas(value_mm, each, points, noise_mm)
        for each, leg, unsure in zip(at, legs, returned, strict=True)
    ]
    surely = [rise for rise in rises if rise**2 / 2.0 > PROVEN]
    disputed = bool(surely) and min(surely) < 0.0 < max(surely)
    disputed |= any(
        unsure and each.last > each.first for each, unsure in zip(marked, returned, strict=True)
    )
    if sum(rise * abs(rise) for rise in rises) < 0.0:
        rises = [-rise for rise in rises]
    word = PROVEN if one_way else 0.0
    odds = np.array([rise * abs(rise) / 2.0 + word for rise in rises])
    both = np.where(returned, word, np.inf)
    return Marks(at, max(0, _least_span(odds, both) - 1), disputed)


def _may_have_returned(passage: Passage, points: Points) -> bool:
    """A turning point lies at the passage: the part may have gone out and back unmarked there.

    Which way it passed cannot be told there either: the turning point may be a reading off.
    """
    near = np.searchsorted(points.at, (passage.first - RETURN_READINGS - 1, passage.last + 2))
    return bool(near[1] > near[0])


def _least_span(odds: Floats, returned: Floats) -> int:
    """How far apart, counted in passages, the part has been at least; 2 means a whole turn.

    odds: for each passage the log of the odds that it went on against that it went back;
    returned: what it costs to say that it did both. The answer is the least span within which
    the passages can have stayed without odds against it of PROVEN or more. Rocked over its mark
    a part never gets beyond 1.
    """
    onward, backward = np.maximum(-odds, 0.0), np.maximum(odds, 0.0)
    for span in range(len(odds)):
        cost = np.zeros(span + 1)
        for k in range(len(odds)):
            moved = cost + returned[k]
            moved[1:] = np.minimum(moved[1:], cost[:-1] + onward[k])
            moved[:-1] = np.minimum(moved[:-1], cost[1:] + backward[k])
            cost = moved
        if cost.min() < PROVEN:
            return span
    return len(odds)


def _rise_sigmas(value_mm: Floats, at: int, points: Points, noise_mm: float) -> float:
    """How surely the trace rises (+) or falls (-) as the mark passes, in standard deviations.

    The mark passed between reading at - 1 and reading `at`. Two signs are taken, the clearer one
    counts: the slope there, and how far the level is from both turning points of its leg.
    """
    k = int(np.searchsorted(points.at, at, side="left"))
    if k == 0 or k == len(points):
        return 0.0
    half = max(1, int(LINE_SHARE * (points.at[k] - points.at[k - 1])))
    half = min(half, at, len(value_mm) - at)
    away = np.arange(-half, half) + 0.5
    slope = float(away @ value_mm[at - half : at + half]) / (float(away @ away) ** 0.5 * noise_mm)
    before, after = (float(level) for level in points.level_mm[k - 1 : k + 1])
    way = 1.0 if after > before else -1.0
    if way * slope < 0.0:
        return 0.0
    here = (float(value_mm[at - 1]) + float(value_mm[at])) / 2.0
    apart = way * min(way * (here - before), way * (after - here)) * 2.0**0.5 / noise_mm
    return float(way * min(max(way * slope, way * apart), SIGMAS_MAX))


def joined(t_s: Floats, value_mm: Floats, mark_at: list[int], swing_mm: float) -> list[Passage]:
    """Marks without echoes: a mark held over several readings, or bouncing, is one passage."""
    found: list[Passage] = []
    for at in mark_at:
        before = found[-1].last if found else -2
        held = at - before <= 1
        bounced = bool(found) and (
            t_s[at] - t_s[before] < BOUNCE_S and float(np.ptp(value_mm[before : at + 1])) < swing_mm
        )
        if held or bounced:
            found[-1] = Passage(found[-1].first, at)
        else:
            found.append(Passage(at, at))
    return found
