"""When the turning points begin to repeat: the number of them a turn, and how well they agree.

Tried are all periods at all levels of detail. Every turning point seen a second time must come
back to its own level, within noise, rounding, sampling and a slow drift; every level that comes
back is evidence, worth more the sharper it is against the spread of the levels; every swing put
down to a slip of the hand costs some. The best explanation is kept.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from daq.capture.turn import ends
from daq.capture.turn.ends import Known
from daq.capture.turn.points import Points
from daq.capture.turn.simplify import Order, orders

Floats = npt.NDArray[np.float64]

POINTS_A_TURN_MAX = 32
# Of a long to-and-fro only the last turning points are searched, and at most so many slips are
# believed: the work on one trace is bounded.
POINTS_MAX = 80
SLIPS_MAX = 24
# Two levels agree within this many of their combined standard uncertainties ...
AGREE_SIGMAS = 3.0
# ... and never more finely than this share of the swing: hands lean on the part a little.
AGREE_SHARE = 0.015
# ... nor than the rounding of the gauge: a still level shows one step or the next.
AGREE_STEPS = 0.5
VAGUE_SHARE = 0.35
# Warming and settling: the drift that is believed, one standard deviation and at most.
DRIFT_MM_PER_S = 0.00012
DRIFT_SIGMAS_MAX = 4.0
# Natural logarithm of how much rarer a trace is with one slip more, and per share of the swing.
SLIP_COST = 1.0
SLIP_SIZE_COST = 4.0
DROPPED_END_COST = 1.5
HIDDEN_END_COST = 0.7
# What may be wrong with the first and the last turning points: n > 0 takes n of them for jerks of
# a hand that sets off or lets go; -1 takes the end of the trace itself for a turning point,
# because the part was at rest so near to one that its own swing cannot be told from noise.
TRIM_MAX = 2
END_TRIMS = tuple((first, last) for first in (0, 1, 2, -1) for last in (0, 1, 2, -1))


@dataclass(frozen=True, slots=True)
class Period:
    """The best repeat.

    size: turning points a turn. inner: positions (in Points) of the ones that count, ends left
    out. matched: how many came back. evidence: natural logarithm of the odds against chance,
    after `cost`, what the slips and trimmed ends took off it. turns: how far the part was
    turned, estimated. drift_mm_per_s: common to all matched pairs. slips: swings put down to
    the hand.
    """

    size: int
    inner: tuple[int, ...]
    matched: int
    evidence: float
    turns: float
    drift_mm_per_s: float
    slips: int
    cost: float


def agreement_mm(points: Points, swing_mm: float, step_mm: float) -> Floats:
    """For every turning point the half-width within which its level is known; mm."""
    given = np.hypot(AGREE_SHARE * swing_mm, AGREE_STEPS * step_mm)
    return np.hypot(AGREE_SIGMAS * np.hypot(points.u_mm, points.loss_mm), given)


def find(
    points: Points, width: Floats, swing_mm: float, turns_between: tuple[float, float]
) -> Period | None:
    """The repeat with the most evidence, or None where nothing repeats.

    width: see `agreement_mm`. swing_mm: the span of levels that chance is judged against.
    turns_between: what is known of the turns from marks; other repeats are not believed.
    """
    count = len(points)
    if count < 4:
        return None
    known = Known(points, width, swing_mm)
    start = max(0, count - POINTS_MAX)
    best: Period | None = None
    for order in orders(points.level_mm, start, min(count // 2, SLIPS_MAX)):
        for candidate in _candidates(known, order):
            if not turns_between[0] <= candidate.turns <= turns_between[1]:
                continue
            if best is None or candidate.evidence > best.evidence:
                best = candidate
    return best


def _shows_all(known: Known, order: Order, first: int, last: int) -> bool:
    """Nothing left out, before or after or for a slip, stands outside what the repeat shows.

    A turn shows every level of the part. A level outside it was turned to, so the turn is longer.
    """
    level, inner = known.points.level_mm, list(order.keep[first:last])
    room = float(np.max(known.width_mm[inner]))
    over = float(np.max(level) - np.max(level[inner]))
    under = float(np.min(level[inner]) - np.min(level))
    return max(over, under) <= room


def level_evidence(points: Points, period: Period, width_mm: Floats) -> Floats:
    """Natural logarithm of the odds against chance, for each level that came back."""
    inner = np.array(period.inner)
    second, first = inner[period.size :], inner[: -period.size]
    allowed = np.hypot(width_mm[second], width_mm[first])
    drift = period.drift_mm_per_s * (points.t_s[second] - points.t_s[first])
    off = points.level_mm[second] - points.level_mm[first] - drift
    return _log_odds(off, allowed, float(np.ptp(points.level_mm)))


def _log_odds(off_mm: Floats, allowed_mm: Floats, swing_mm: float) -> Floats:
    """Log of the density of a return this far off its level, against anywhere in the swing."""
    sigma = allowed_mm / AGREE_SIGMAS
    odds: Floats = np.log(swing_mm / (math.sqrt(2.0 * math.pi) * sigma))
    return np.maximum(odds, 0.0) - 0.5 * (off_mm / sigma) ** 2


def _candidates(known: Known, order: Order) -> Iterator[Period]:
    """The repeats of one order of turning points, for all ways to trim its ends."""
    keep = np.array(order.keep, dtype=np.intp)
    count = len(keep)
    cost = sum(SLIP_COST + SLIP_SIZE_COST * taken / known.swing_mm for taken in order.taken_mm)
    for size in range(2, min(count - 1, POINTS_A_TURN_MAX) + 1, 2):
        pairs = _Pairs.of(known, keep, size)
        # A pair that no drift explains, out of reach of any trimming, settles it at once.
        if pairs.bad[TRIM_MAX + 1 : count - 1 - TRIM_MAX - size].any():
            continue
        for trim in END_TRIMS:
            first, last = 1 + trim[0], count - 1 - trim[1]
            if last - first - size < 1 or pairs.bad[first : last - size].any():
                continue
            repeat = pairs.agreement(first, last - size, known.swing_mm)
            if repeat is None:
                continue
            turned = ends.legs_turned(known, order.keep, size, trim)
            if turned is None or not _shows_all(known, order, first, last):
                continue
            trimmed = cost + DROPPED_END_COST * sum(max(cut, 0) for cut in trim)
            trimmed += HIDDEN_END_COST * trim.count(-1)
            yield Period(
                size, order.keep[first:last], last - first - size, repeat[0] - trimmed,
                (last - first - 1 + turned) / size, repeat[1], len(order.taken_mm), trimmed,
            )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Pairs:
    """Every turning point of an order with the one `size` later: change, time, allowance."""

    change_mm: Floats
    elapsed_s: Floats
    allowed_mm: Floats
    bad: npt.NDArray[np.bool_]

    @classmethod
    def of(cls, known: Known, keep: npt.NDArray[np.intp], size: int) -> "_Pairs":
        level, t_s, width = known.points.level_mm, known.points.t_s, known.width_mm
        second, first = keep[size:], keep[:-size]
        change = level[second] - level[first]
        elapsed = t_s[second] - t_s[first]
        allowed = np.hypot(width[second], width[first])
        bad = np.abs(change) > allowed + DRIFT_SIGMAS_MAX * DRIFT_MM_PER_S * elapsed
        # A level so vague that it agrees with anything is no return of anything.
        bad |= allowed > VAGUE_SHARE * known.swing_mm
        return cls(change, elapsed, allowed, bad)

    def agreement(self, first: int, last: int, swing_mm: float) -> tuple[float, float] | None:
        """Evidence and drift (mm/s) if every level from first to last comes back."""
        change, elapsed = self.change_mm[first:last], self.elapsed_s[first:last]
        allowed = self.allowed_mm[first:last]
        weight = (AGREE_SIGMAS / allowed) ** 2 * elapsed
        # Least squares with a prior: one pair alone says nothing about drift, many do.
        drift = float(weight @ change) / (float(weight @ elapsed) + 1.0 / DRIFT_MM_PER_S**2)
        if abs(drift) > DRIFT_SIGMAS_MAX * DRIFT_MM_PER_S:
            return None
        off = change - drift * elapsed
        if (np.abs(off) > allowed).any():
            return None
        # A fast drift is as unlikely as a level that is off.
        unlikely = 0.5 * (drift / DRIFT_MM_PER_S) ** 2
        return float(np.sum(_log_odds(off, allowed, swing_mm))) - unlikely, drift
