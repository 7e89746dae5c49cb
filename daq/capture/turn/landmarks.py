"""What a picture of a turn hangs on: its highs and lows, and the angles where those are known.

An angle is known from an index or a press that came by, or worked out of what came again: two
turning points that are the same place lie a whole turn apart, and a place lies within its turn
where it did on average over the turns that were seen whole, at even speed and with rests left
out. Between landmarks nothing is known
but that the part went on.
"""

import numpy as np
import numpy.typing as npt

from daq.capture.base import Angle, Landmark
from daq.capture.turn.evaluate import Seen
from daq.capture.turn.shape import moving_time
from daq.capture.turn.sight import Sight

Floats = npt.NDArray[np.float64]

# A hand that goes on for an hour shall not make every picture larger.
LANDMARKS_MAX = 64


def landmarks(seen: Seen) -> tuple[Angle, tuple[Landmark, ...]]:
    """The last highs and lows in order of time, with turns since the first place that is known."""
    sight = seen.sight
    if sight is None:
        return Angle.NONE, ()
    angle, at_s, turns = _known(seen, sight)
    times = np.union1d(sight.points.t_s, at_s)
    level = dict(zip(sight.points.t_s.tolist(), sight.points.level_mm.tolist(), strict=True))
    found = [
        Landmark(t_s, level.get(t_s, np.nan) + seen.origin_mm, _turns_at(t_s, at_s, turns))
        for t_s in times[-LANDMARKS_MAX:].tolist()
    ]
    return angle, tuple(found)


def _known(seen: Seen, sight: Sight) -> tuple[Angle, Floats, Floats]:
    """Times whose turns are known, and those. Nothing is where no whole turn is proven."""
    kind, period = seen.proof.kind, sight.repeat
    if kind in {Angle.INDEX, Angle.COUNTED}:
        at_s = sight.t_s[list(sight.marks.at)]
        return Angle(kind), at_s, np.arange(len(at_s), dtype=np.float64)
    if kind and period is not None:
        inner = list(period.inner)
        moved_s = moving_time(sight)[sight.points.at[inner]]
        return Angle.REPEAT, sight.points.t_s[inner], _repeated(moved_s, period.size)
    return Angle.NONE, np.empty(0), np.empty(0)


def _repeated(moved_s: Floats, size: int) -> Floats:
    """Turns at each turning point that counts; the first is at 0. moved_s: time without rests."""
    place = np.arange(len(moved_s)) % size
    whole = np.arange(len(moved_s)) // size
    start_s = moved_s[::size]
    turn_s = np.maximum(np.diff(start_s), 1e-4)  # the finest time there is
    share = np.zeros(size)
    for one in range(1, size):
        here_s = moved_s[one::size][: len(turn_s)]
        share[one] = np.mean((here_s - start_s[: len(turn_s)]) / turn_s)
    return whole + share[place]


def _turns_at(t_s: float, at_s: Floats, turns: Floats) -> float | None:
    if len(at_s) < 2 or not at_s[0] <= t_s <= at_s[-1]:
        return None
    return float(np.interp(t_s, at_s, turns))
