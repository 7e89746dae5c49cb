"""What proves that a whole turn was seen, or why nothing does.

Two kinds of proof: a mark that came by twice, and turning points that came again. The second is
proof by itself only where a hand that sways could not have made the order (`pattern`); otherwise
it needs the person's word that the part was turned one way (`one-way`).
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from daq.capture.turn import mirror
from daq.capture.turn.marks import Marks
from daq.capture.turn.period import Period, level_evidence
from daq.capture.turn.points import Points

Floats = npt.NDArray[np.float64]

# Asked of the person: a turn and a quarter. With one turning point come again the extra quarter
# is all there is to tell a bend from half an oval, so more of it is needed.
TURNS_MIN = 1.2
TURNS_ONE_REPEAT_MIN = 1.4
EVIDENCE_ONE_WAY_MIN = 1.0
# Without the person's word: odds of e^4 against a hand that reversed at these levels by chance,
# not counting the two that a swaying part brings back by itself (its own high and low).
EVIDENCE_PATTERN_MIN = 4.0
# The same where an index passed in a direction that cannot be told; more where there is but one
# turn between two passages, or swings were put down to slips of the hand.
EVIDENCE_INDEX_MIN = 4.0
EVIDENCE_INDEX_LEAN_MIN = 8.0
PATTERN_REPEATS_MIN = 3
PATTERN_FREE_LEVELS = 2
# More turning points a turn than seven lobes have are rather those of several sways to and fro:
# such an order must come again as a whole.
PATTERN_POINTS_MAX = 14
PATTERN_LONG_TURNS_MIN = 2.1
READINGS_A_LEG_MIN = 3.0
# A turn is not complete when what may lie between the readings (k = 2) is more than this.
UNSEEN_SHARE_MAX = 0.03
UNSEEN_MM_MAX = 0.0015
# A stand breathes with the warmth of a room, and a bench trembles: a part that nobody turns may
# show this much, and come again as a turned one does (common practice, no source for the figure).
# What moves less proves a turn only by a mark, or by a person's word that it was turned.
HARDLY_MOVES_MM = 0.005
# A drift goes farther, given time: what is this slow has to move by more.
SLOW_TURN_S = 25.0
SLOWLY_MOVES_MM = 0.010
# A turn without any swing is a good part only where a swing this small would have been seen.
HIDDEN_SWING_MM_MAX = 0.003


@dataclass(frozen=True, slots=True)
class Proof:
    """kind: index, counted, pattern, one-way, or "" for none, and then `reason` says why.

    hardly: a turn would be proven, did the part move more than one may that lies still.
    """

    kind: str
    turns: float | None
    reason: str
    looks_swayed: bool
    too_fast: bool
    hardly: bool = False


def weigh(
    points: Points,
    period: Period | None,
    width_mm: Floats,
    marks: Marks,
    *,
    one_way: bool,
    counted: bool,
    turned: bool,
    runout_mm: float,
    unseen_mm: float,
    step_mm: float,
) -> Proof:
    """The strongest proof there is.

    counted: the marks are presses, not an index. turned: the person's word that a part that hardly
    moves was turned. unseen_mm: expanded uncertainty of the runout
    from what passed between the readings. step_mm: of the gauge.
    """
    swayed = _looks_swayed(points, period, width_mm) or (marks.disputed and not marks.whole_turns)
    whole_turns = marks.whole_turns or _turns_counted(points, marks, period)
    # An index that came by the same way round settles it: a symmetrical part, no swaying.
    swayed = swayed and not (marks.exact and whole_turns)
    fast = _too_fast(points, unseen_mm)
    turns = float(whole_turns) if whole_turns else None
    if period and (turns is None or period.turns >= turns):
        turns = period.turns
    hidden = len(points) < 2 and points.swing_mm > max(HIDDEN_SWING_MM_MAX, 2.0 * step_mm)
    if whole_turns and hidden:
        reason = "The readings scatter too much to show a runout. Turn slower, or mend the contact."
        return Proof("", turns, reason, swayed, fast)
    if whole_turns and not swayed and not fast:
        return Proof("counted" if counted else "index", turns, "", swayed, fast)
    if fast:
        reason = "Too few readings fell on a turn to catch its highs and lows. Turn slower."
        return Proof("", None, reason, swayed, fast)
    reason = _nothing_repeats(points, swayed) if period is None else _weakness(period)
    if period is None or reason:
        return Proof("", turns, reason, swayed, fast)
    is_pattern = _is_pattern(points, period, width_mm) and not swayed
    if (is_pattern or one_way) and not turned and _hardly_moves(points, period, runout_mm):
        reason = (
            f"It moved by {runout_mm:.4f} mm only, as a part that lies still may. Turn it on, "
            "and press only if it was turned; or count a turn, or use an index."
        )
        return Proof("", period.turns, reason, swayed, fast, hardly=not swayed)
    if is_pattern:
        return Proof("pattern", period.turns, "", swayed, fast)
    if one_way:
        return Proof("one-way", period.turns, "", swayed, fast)
    reason = (
        "The turning points come again, but a part swayed to and fro could show the same. "
        "Turn it one way and say so, count a turn, or use an index."
    )
    return Proof("", period.turns, reason, swayed, fast)


def _turns_counted(points: Points, marks: Marks, period: Period | None) -> int:
    """Turns proven by an index whose passages do not show their direction (at a high or a low).

    Turned on, a part shows all its turning points between any passage and the next. Rocked over
    its mark it does not: one way round it has farther to come back than the other.
    """
    turns = marks.turns_if_onward
    if period is None or marks.disputed or turns < 1:
        return 0
    plain = turns > 1 and not period.slips
    if period.evidence < (EVIDENCE_INDEX_MIN if plain else EVIDENCE_INDEX_LEAN_MIN):
        return 0
    shown = np.diff(np.searchsorted(points.at[np.array(period.inner)], marks.at))
    return turns if bool(np.all(np.abs(shown - period.size) <= 1)) else 0


def _too_fast(points: Points, unseen_mm: float) -> bool:
    legs = np.diff(points.at)
    if len(legs) >= 3 and float(np.median(legs[1:-1])) < READINGS_A_LEG_MIN:
        return True
    return unseen_mm > max(UNSEEN_MM_MAX, UNSEEN_SHARE_MAX * float(np.ptp(points.level_mm)))


def _nothing_repeats(points: Points, swayed: bool) -> str:
    if len(points) < 2:
        return "Nothing has turned: the readings moved no more than their noise."
    if swayed:
        return "The part looks swayed to and fro. Turn it one way, a turn and a quarter at least."
    return (
        "The turning points have not begun to repeat, so a whole turn was not proven. "
        "Turn on, a turn and a quarter at least."
    )


def _weakness(period: Period) -> str:
    few = period.matched < 2 and period.turns < TURNS_ONE_REPEAT_MIN
    if few or period.turns < TURNS_MIN:
        return "Only just a turn was seen. Turn on, a turn and a quarter at least."
    if period.evidence < EVIDENCE_ONE_WAY_MIN:
        return (
            "The turning points come again only roughly, which chance could do. "
            "Turn on evenly, two turns or more."
        )
    return ""


def _hardly_moves(points: Points, period: Period, runout_mm: float) -> bool:
    """Whether a part that lies still may show as much."""
    seen_s = points.t_s[period.inner[-1]] - points.t_s[period.inner[0]]
    slow = seen_s > SLOW_TURN_S * period.turns
    return runout_mm < (SLOWLY_MOVES_MM if slow else HARDLY_MOVES_MM)


def _is_pattern(points: Points, period: Period, width_mm: Floats) -> bool:
    if period.size < 4 or period.matched < PATTERN_REPEATS_MIN:
        return False
    if period.size > PATTERN_POINTS_MAX and period.turns < PATTERN_LONG_TURNS_MIN:
        return False
    evidence = np.sort(level_evidence(points, period, width_mm))
    beyond_free = evidence[: len(evidence) - PATTERN_FREE_LEVELS]
    if float(np.sum(beyond_free)) - period.cost < EVIDENCE_PATTERN_MIN:
        return False
    return not mirror.is_own_mirror(*mirror.turn_levels(points, period, width_mm))


def _looks_swayed(points: Points, period: Period | None, width_mm: Floats) -> bool:
    if period is None:
        everything = tuple(range(1, len(points) - 1))
        return mirror.has_mirrored_passage(points, everything, width_mm) or mirror.is_pinned(
            points, width_mm
        )
    if period.size < 4:
        return False
    level, width = mirror.turn_levels(points, period, width_mm)
    different = np.ptp(level[0::2]) + np.ptp(level[1::2]) > 4.0 * float(np.max(width))
    return bool(different) and mirror.is_own_mirror(level, width)
