"""`Turn`: the streaming capture of a runout.

The trace is looked at as a whole, but not at every reading: only when it has grown by a fixed
share since the last look, and a tenth of a second of its own time has passed. So the cost a
reading does not grow with the trace nor with the rate, and whether and where a capture is done
depends on the readings alone, not on how they were cut into batches.
"""

import math
from array import array
from collections.abc import Sequence
from typing import ClassVar

import numpy as np

from daq.capture.base import Angle, Captured, Hint, Kind, Landmark, Progress, Setup
from daq.capture.turn.evaluate import Seen, Trace, evaluate
from daq.capture.turn.landmarks import landmarks
from daq.capture.turn.shape import moving_time
from daq.capture.turn.tell import captured
from drivers.reading import Reading, State

# Three hours at 100/s; a capture that is not done by then keeps what it has and says so.
READINGS_MAX = 1_080_000
FIRST_LOOK_READINGS = 24
LOOK_EVERY_READINGS = 12
LOOK_GROWTH = 1.12
LOOK_EVERY_S = 0.1
# Enough turns to average over; or the hand has rested, or the gauge fallen silent, this long.
TURNS_DONE = 2.2
# A first turn of a lobed part can look like several turns of a bent one. What is seen later
# settles it, so an early end asks for better odds than the whole trace: e^8, and e^3 at rest.
EVIDENCE_DONE = 8.0
EVIDENCE_REST = 3.0
STILL_DONE_S = 2.0
SILENT_DONE_S = 0.7
TURNS_ASKED = 1.25
MADE_POINTS_LEAST = 2  # a high and a low
# A part that was in motion for so long was turned more than twice by anybody; if no turn is proven
# then, something disturbed it that more turning does not mend.
STUCK_S = 40.0


class Turn:
    """Runout of a part turned by hand on V-blocks or about a pilot (`Capture`, kind TURN)."""

    kind: ClassVar[Kind] = Kind.TURN

    def __init__(self, setup: Setup) -> None:
        self._setup = setup
        self._t_s = array("d")
        self._value_mm = array("d")
        self._ok = bytearray()
        self._mark: list[int] = []
        self._pressed: list[int] = []
        self._left_out = 0
        self._next_look = FIRST_LOOK_READINGS
        self._next_look_s = -math.inf
        self._seen: Seen | None = None
        self._seen_count = -1
        self._shown: tuple[Seen, Hint, Angle, tuple[Landmark, ...]] | None = None
        self._done = False

    @property
    def done(self) -> bool:
        """A whole turn is proven, and nothing more is to be gained by waiting."""
        return self._done

    def feed(self, readings: Sequence[Reading]) -> None:
        """Take more readings in mm, in order of time. After `done` nothing is taken any more."""
        for reading in readings:
            if self._done:
                return
            if len(self._t_s) >= READINGS_MAX:
                self._left_out += 1
                continue
            self._take(reading)
            if len(self._t_s) >= self._next_look and reading.t_s >= self._next_look_s:
                self._look()

    def _take(self, reading: Reading) -> None:
        if reading.mark:
            self._mark.append(len(self._t_s))
            if reading.commit:
                self._pressed.append(len(self._t_s))
        self._t_s.append(reading.t_s)
        self._value_mm.append(reading.value)
        self._ok.append(reading.state is State.OK)

    def _look(self) -> None:
        count = len(self._t_s)
        self._next_look = max(count + LOOK_EVERY_READINGS, int(count * LOOK_GROWTH))
        self._next_look_s = self._t_s[-1] + LOOK_EVERY_S
        seen = self._evaluated()
        turns = seen.proof.turns or 0.0
        enough = turns >= TURNS_DONE and seen.evidence >= EVIDENCE_DONE
        rests = (seen.still_s >= STILL_DONE_S) and seen.evidence >= EVIDENCE_REST
        self._done = self._proven(seen) and (enough or rests or seen.left)

    @staticmethod
    def _proven(seen: Seen) -> bool:
        # What looks swayed needs a press: it is kept by a person or not at all.
        return seen.complete and not seen.proof.looks_swayed

    def rest(self, t_s: float) -> None:
        """Learn that no reading came up to `t_s`: silence ends a turn that is proven."""
        if self._done or not self._t_s or t_s - self._t_s[-1] < SILENT_DONE_S:
            return
        self._done = self._proven(self._evaluated())

    def progress(self) -> Progress:
        """How far it is, as of the last look."""
        seen = self._seen
        if seen is None or not seen.moved:
            return Progress(Hint.BEGIN, 0.0)
        turns = seen.proof.turns or 0.0
        share = 1.0 if seen.complete else min(0.99, turns / TURNS_ASKED)
        # Looks are rarer than askers.
        if self._shown is None or self._shown[0] is not seen:
            self._shown = (seen, self._hint(seen), *landmarks(seen))
        _, hint, angle, found = self._shown
        return Progress(
            Hint.DONE if self._done else hint,
            share, _so_far_mm(seen), seen.proof.turns, self._done, angle, found,
        )  # fmt: skip

    @staticmethod
    def _hint(seen: Seen) -> Hint:
        if seen.proof.looks_swayed:
            return Hint.ONE_WAY
        if seen.proof.hardly:
            return Hint.HARDLY
        if seen.proof.too_fast:
            return Hint.SLOWER
        stuck = not seen.complete and seen.sight and moving_time(seen.sight)[-1] > STUCK_S
        return Hint.AGAIN if stuck else Hint.GO_ON

    def result(self) -> Captured:
        """The runout of all readings fed so far."""
        return captured(self._evaluated(), self._trace(), self._setup, self._left_out)

    def _evaluated(self) -> Seen:
        count = len(self._t_s)
        if self._seen is None or self._seen_count != count:
            self._seen, self._seen_count = evaluate(self._trace(), self._setup), count
        return self._seen

    def _trace(self) -> Trace:
        count = len(self._t_s)
        mark, pressed = np.zeros(count, dtype=np.bool_), np.zeros(count, dtype=np.bool_)
        mark[self._mark] = True
        pressed[self._pressed] = True
        return Trace(
            np.array(self._t_s), np.array(self._value_mm), np.array(self._ok, dtype=np.bool_),
            mark, pressed,
        )  # fmt: skip


def _so_far_mm(seen: Seen) -> float | None:
    """The runout as far as it was seen: between highs and lows that the part made itself.

    The first and the last point of a trace are where it begins and ends. While a part is set down
    slowly the way down begins there, and is no runout; a turn that is proven holds no such way.
    """
    if seen.value is None or seen.sight is None:
        return None
    value_mm = seen.value.measured.value
    if seen.complete:
        return value_mm
    level_mm = seen.sight.points.level_mm
    if len(level_mm) < MADE_POINTS_LEAST + 2:
        return None
    return value_mm * float(np.ptp(level_mm[1:-1]) / np.ptp(level_mm))
