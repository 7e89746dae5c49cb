"""Which readings belong to the part on the blocks: no lifting, no putting in, no error codes.

A plunger that falls off a part, or is set down on one, travels far and does not come back; lint
does. So the trace is split where the level jumps and stays away, and the longest piece is kept.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

# A jump between neighbouring readings that no turned part makes: ten times the usual limits.
JUMP_MM = 0.3
# Lint stays under the tip for at most this many readings before the level is back.
LINT_READINGS_MAX = 4
# A hand on the plunger travels at least this many times the range of what came before.
DEPARTURE_RANGES = 1.5
# A hand that takes hold of the part, or sets it down, moves it a little just before and after.
HANDLING_S = 0.15


@dataclass(frozen=True, slots=True)
class Piece:
    """Readings first (included) to last (excluded) of a trace; left: the part was taken away."""

    first: int
    last: int
    left: bool


def on_the_blocks(t_s: Floats, value_mm: Floats, ok: npt.NDArray[np.bool_]) -> Piece:
    """The longest piece of the trace in which the tip stays on one part.

    t_s in s; value_mm: every reading, NaN where not ok. `left` says that readings follow the
    piece, or that they stop being numbers: the part went away.
    """
    count = len(value_mm)
    if count == 0 or not ok.any():
        return Piece(0, 0, left=False)
    cuts = [0, *_level_cuts(value_mm, ok), count]
    spans = [(b - a, a, b) for a, b in pairwise(cuts) if b > a]
    spans = [span for span in spans if ok[span[1] : span[2]].any()]
    _, first, last = max(spans, key=lambda span: (span[0], -span[1]))
    piece = _without_slow_departure(value_mm, first, last)
    left = piece.left or count - piece.last >= LINT_READINGS_MAX
    if left:
        piece = Piece(piece.first, _before_it_set_off(value_mm, piece), left)
    return _without_handling(t_s, piece, left=left, came=piece.first >= LINT_READINGS_MAX)


def _without_handling(t_s: Floats, piece: Piece, *, left: bool, came: bool) -> Piece:
    """Less the instants after the part came and before it left, unless nothing remains."""
    held_s = t_s[piece.first : piece.last]
    start_s = held_s[0] + HANDLING_S if came else -np.inf
    end_s = held_s[-1] - HANDLING_S if left else np.inf
    first, last = np.searchsorted(held_s, (start_s, end_s))
    if last <= first:
        return Piece(piece.first, piece.last, left)
    return Piece(piece.first + int(first), piece.first + int(last), left)


def _before_it_set_off(value_mm: Floats, piece: Piece) -> int:
    """The end of a piece less the readings that already went the way the part left.

    A hand sets off gently: the first of its way is as small as a swing of the part, and its
    beginning must not stand there as a turning point that came again.
    """
    beyond = value_mm[piece.last : piece.last + LINT_READINGS_MAX]
    if not np.isfinite(beyond).any():
        return piece.last
    inside = value_mm[piece.first : piece.last]
    way = np.sign(np.nanmedian(beyond) - inside[-1]) if np.isfinite(inside[-1]) else 0.0
    stays = np.flatnonzero(~(np.diff(inside) * way > 0.0))
    kept = int(stays[-1]) + 2 if len(stays) else 1
    return piece.first + kept


def _level_cuts(value_mm: Floats, ok: npt.NDArray[np.bool_]) -> list[int]:
    """Where the level jumps and stays away, and where the gauge stops giving numbers."""
    numbers = np.flatnonzero(ok)
    held = value_mm[numbers]
    jumps = np.flatnonzero(np.abs(np.diff(held)) > JUMP_MM) + 1
    cuts: list[int] = []
    for at in jumps.tolist():
        before = held[max(0, at - 2 * LINT_READINGS_MAX) : at]
        after = held[at : at + 2 * LINT_READINGS_MAX]
        # The medians ignore lint on either side; only a lasting change of level is a cut.
        if abs(float(np.median(after)) - float(np.median(before))) > JUMP_MM:
            cuts.append(int(numbers[at]))
    gaps = np.flatnonzero(np.diff(numbers) > LINT_READINGS_MAX)
    for gap in gaps.tolist():
        cuts += [int(numbers[gap]) + 1, int(numbers[gap + 1])]
    if numbers[0] > 0:
        cuts.append(int(numbers[0]))
    if numbers[-1] + 1 < len(value_mm):
        cuts.append(int(numbers[-1]) + 1)
    return sorted(set(cuts))


def _without_slow_departure(value_mm: Floats, first: int, last: int) -> Piece:
    """Cut a lift or a setting down that is a steep ramp rather than one jump."""
    inside = value_mm[first:last]
    low, high = np.nanquantile(inside, [0.1, 0.9])
    allowed = max(JUMP_MM, DEPARTURE_RANGES * float(high - low))
    away = (inside < low - allowed) | (inside > high + allowed)
    left = False
    if away[-LINT_READINGS_MAX:].all():
        last = first + _ramp_start(inside, int(np.flatnonzero(~away)[-1]))
        left = True
    if away[:LINT_READINGS_MAX].all():
        kept = value_mm[first:last]
        back = kept[::-1]
        first = last - _ramp_start(back, int(len(kept) - 1 - np.flatnonzero(~away)[0]))
    return Piece(first, last, left)


def _ramp_start(inside: Floats, last_near: int) -> int:
    """Walk back from the last near reading along the steep ramp; number of readings to keep."""
    slow = float(np.nanquantile(np.abs(np.diff(inside[: last_near + 1])), 0.9)) if last_near else 0
    steep = 3.0 * slow
    at = last_near
    while at > 0 and abs(inside[at] - inside[at - 1]) > steep:
        at -= 1
    return at + 1
