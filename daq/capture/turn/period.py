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

from daq.capture.turn.points import Points
from daq.capture.turn.simplify import Order, orders

Floats = npt.NDArray[np.float64]

POINTS_A_TURN_MAX = 32
# Two levels agree within this many of their combined standard uncertainties ...
AGREE_SIGMAS = 3.0
# ... and never more finely than this share of the swing: hands lean on the part a little.
AGREE_SHARE = 0.015
# ... nor than the rounding of the gauge: a still level shows one step or the next.
AGREE_STEPS = 0.5
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
    best: Period | None = None
    for order in orders(points.level_mm, swings_max=count // 2):
        for trim in END_TRIMS:
            for candidate in _sizes(points, width, swing_mm, order, trim):
                known = turns_between[0] <= candidate.turns <= turns_between[1]
                if known and (best is None or candidate.evidence > best.evidence):
                    best = candidate
    return best


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


def _sizes(
    points: Points, width: Floats, swing_mm: float, order: Order, trim: tuple[int, int]
) -> Iterator[Period]:
    """The repeats of one order of turning points with its ends trimmed (see END_TRIMS)."""
    keep, count = order.keep, len(order.keep)
    inner = np.array(keep[1 + trim[0] : count - 1 - trim[1]], dtype=np.intp)
    if len(inner) < 3:
        return
    ends = (
        _far_end(points, keep[: 1 + max(trim[0], 0)], inner[0]),
        _far_end(points, keep[count - 1 - max(trim[1], 0) :], inner[-1]),
    )
    cost = sum(SLIP_COST + SLIP_SIZE_COST * taken / swing_mm for taken in order.taken_mm)
    cost += DROPPED_END_COST * sum(max(cut, 0) for cut in trim) + HIDDEN_END_COST * trim.count(-1)
    for size in range(2, min(len(inner) - 1, POINTS_A_TURN_MAX) + 1, 2):
        repeat = _repeat(points, width, swing_mm, inner, size)
        if repeat is None:
            continue
        evidence, drift = repeat[0] - cost, repeat[1]
        shares = _end_shares(points, width, inner, ends, size, trim)
        if shares is None:
            continue
        turns = (len(inner) - 1 + shares[0] + shares[1]) / size
        yield Period(
            size, tuple(inner.tolist()), len(inner) - size, evidence, turns, drift,
            len(order.taken_mm), cost,
        )  # fmt: skip


def _repeat(
    points: Points, width: Floats, swing_mm: float, inner: npt.NDArray[np.intp], size: int
) -> tuple[float, float] | None:
    """Evidence and drift (mm/s) if every level comes back after `size` turning points."""
    level, t_s = points.level_mm[inner], points.t_s[inner]
    change = level[size:] - level[:-size]
    elapsed = t_s[size:] - t_s[:-size]
    allowed = np.hypot(width[inner[size:]], width[inner[:-size]])
    weight = (AGREE_SIGMAS / allowed) ** 2
    # Least squares with a prior: one pair alone says nothing about drift, many do.
    drift = float(
        np.sum(weight * elapsed * change) / (np.sum(weight * elapsed**2) + 1.0 / DRIFT_MM_PER_S**2)
    )
    if abs(drift) > DRIFT_SIGMAS_MAX * DRIFT_MM_PER_S:
        return None
    off = change - drift * elapsed
    if np.any(np.abs(off) > allowed):
        return None
    return float(np.sum(_log_odds(off, allowed, swing_mm))), drift


def _end_shares(
    points: Points,
    width: Floats,
    inner: npt.NDArray[np.intp],
    ends: tuple[int, int],
    size: int,
    trim: tuple[int, int],
) -> tuple[float, float] | None:
    """How much of the first and the last leg was turned, 0 to 1; None if they contradict.

    The leg before the first turning point is the one that came again `size` later, so the trace
    cannot have begun beyond its other end; the same holds for the last.
    """
    level = points.level_mm
    shares = [0.0, 0.0]
    for side, (peak, far) in enumerate(
        ((inner[0], inner[size - 1]), (inner[-1], inner[len(inner) - size]))
    ):
        if trim[side] == -1:
            continue
        share = _leg_share(level[ends[side]], level[peak], level[far])
        beyond = (share - 1.0) * abs(level[far] - level[peak])
        if beyond > width[ends[side]] + width[far]:
            return None
        shares[side] = _turned(share)
    return shares[0], shares[1]


def _far_end(points: Points, outside: tuple[int, ...], peak: int) -> int:
    """Of the points left out at an end, the one farthest from the first that counts."""
    away = np.abs(points.level_mm[list(outside)] - points.level_mm[peak])
    return outside[int(np.argmax(away))]


def _leg_share(end_mm: float, peak_mm: float, far_mm: float) -> float:
    leg = far_mm - peak_mm
    return float((end_mm - peak_mm) / leg) if leg else 0.0


def _turned(share: float) -> float:
    """Share of the angle of a leg from the share of its height, as on a cosine."""
    return math.acos(1.0 - 2.0 * min(max(share, 0.0), 1.0)) / math.pi
