"""When the turning points begin to repeat: the number of them a turn, and how well they agree.

Tried are all periods at all levels of detail. Every turning point seen a second time must come
back to its own level, within noise, rounding, sampling and a slow drift; every level that comes
back is evidence, worth more the sharper it is against the spread of the levels; every swing put
down to a slip of the hand costs some. The best explanation is kept.
"""

import math
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
_TRIM_COST = {0: 0.0, 1: DROPPED_END_COST, 2: 2 * DROPPED_END_COST, -1: HIDDEN_END_COST}
END_TRIMS = {
    (first, last): _TRIM_COST[first] + _TRIM_COST[last]
    for first in _TRIM_COST
    for last in _TRIM_COST
}


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
        best = _better(known, order, turns_between, best)
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
    return _exact_odds(sigma, swing_mm) - 0.5 * (off_mm / sigma) ** 2


def _exact_odds(sigma_mm: Floats, swing_mm: float) -> Floats:
    """The same for a return to the very level."""
    odds: Floats = np.log(swing_mm / (math.sqrt(2.0 * math.pi) * sigma_mm))
    return np.maximum(odds, 0.0)


def _better(
    known: Known, order: Order, turns_between: tuple[float, float], best: Period | None
) -> Period | None:
    """The best repeat of one order of turning points, for all ways to trim its ends, or `best`.

    Evidence comes first because it costs least: what cannot beat `best` is not looked at closer.
    """
    keep = np.array(order.keep, dtype=np.intp)
    count = len(keep)
    cost = sum(SLIP_COST + SLIP_SIZE_COST * taken / known.swing_mm for taken in order.taken_mm)
    floor = best.evidence if best else -math.inf
    sharpest = np.hypot(*np.partition(known.width_mm[keep], 1)[:2]) / AGREE_SIGMAS
    most_a_pair = float(_exact_odds(sharpest, known.swing_mm))
    for size in range(2, min(count - 1, POINTS_A_TURN_MAX) + 1, 2):
        if (count - size) * most_a_pair - cost <= floor:
            break  # the longer a turn, the fewer levels came back
        pairs = _Pairs.of(known, keep, size)
        if pairs is None or pairs.most - cost <= floor:
            continue
        for trim, trim_cost in END_TRIMS.items():
            first, last = 1 + trim[0], count - 1 - trim[1]
            if last - first - size < 1 or pairs.any_bad(first, last - size):
                continue
            evidence, drift = pairs.agreement(first, last - size)
            evidence -= cost + trim_cost
            if evidence <= floor or not pairs.come_back(first, last - size, drift):
                continue
            turned = ends.legs_turned(known, order.keep, size, trim)
            if turned is None or not _shows_all(known, order, first, last):
                continue
            turns = (last - first - 1 + turned) / size
            if not turns_between[0] <= turns <= turns_between[1]:
                continue
            floor = evidence
            best = Period(
                size, order.keep[first:last], last - first - size, evidence, turns, drift,
                len(order.taken_mm), cost + trim_cost,
            )  # fmt: skip
    return best


@dataclass(frozen=True, slots=True)
class _Pairs:
    """Every turning point of an order with the one `size` later: change, time, allowance.

    most: the evidence if every level came back exactly. sums: running sums over the pairs, from 0
    on, of the odds of an exact return and of what least squares for the drift needs; and of the
    pairs that no drift explains. With them a run of pairs costs the same however long it is.
    """

    change_mm: Floats
    elapsed_s: Floats
    allowed_mm: Floats
    most: float
    sums: tuple[list[float], ...]

    @classmethod
    def of(cls, known: Known, keep: npt.NDArray[np.intp], size: int) -> "_Pairs | None":
        """None where a pair out of reach of any trimming is no return: that settles it at once."""
        level, t_s, width = known.points.level_mm, known.points.t_s, known.width_mm
        second, first = keep[size:], keep[:-size]
        change = level[second] - level[first]
        elapsed = t_s[second] - t_s[first]
        allowed = np.hypot(width[second], width[first])
        bad = np.abs(change) > allowed + DRIFT_SIGMAS_MAX * DRIFT_MM_PER_S * elapsed
        # A level so vague that it agrees with anything is no return of anything.
        bad |= allowed > VAGUE_SHARE * known.swing_mm
        if bad[TRIM_MAX + 1 : len(keep) - 1 - TRIM_MAX - size].any():
            return None
        sigma = allowed / AGREE_SIGMAS
        rows = np.zeros((5, len(change) + 1))
        rows[0, 1:] = _exact_odds(sigma, known.swing_mm)
        rows[1, 1:] = (change / sigma) ** 2
        rows[2, 1:] = change * elapsed / sigma**2
        rows[3, 1:] = (elapsed / sigma) ** 2
        rows[4, 1:] = bad
        sums = np.cumsum(rows, axis=1).tolist()
        return cls(change, elapsed, allowed, sums[0][-1], tuple(sums))

    def any_bad(self, first: int, last: int) -> bool:
        """A pair from first to last (not with it) that no drift explains."""
        bad = self.sums[4]
        return last > first and bad[last] > bad[first]

    def agreement(self, first: int, last: int) -> tuple[float, float]:
        """Evidence and drift (mm/s) if every level from first to last comes back."""
        odds, cc, ce, ee = (each[last] - each[first] for each in self.sums[:4])
        # Least squares with a prior: one pair alone says nothing about drift, many do.
        drift = ce / (ee + 1.0 / DRIFT_MM_PER_S**2)
        # A fast drift is as unlikely as a level that is off.
        unlikely = cc - 2.0 * drift * ce + drift**2 * ee + (drift / DRIFT_MM_PER_S) ** 2
        return odds - 0.5 * unlikely, drift

    def come_back(self, first: int, last: int, drift_mm_per_s: float) -> bool:
        """With this drift every level from first to last comes back within its allowance."""
        if abs(drift_mm_per_s) > DRIFT_SIGMAS_MAX * DRIFT_MM_PER_S:
            return False
        off = self.change_mm[first:last] - drift_mm_per_s * self.elapsed_s[first:last]
        return not (np.abs(off) > self.allowed_mm[first:last]).any()
