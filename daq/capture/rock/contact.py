"""`Contact`: keeps readings taken while both points of the bore gauge touched.

Where a point loses the wall the reading jumps away and comes back within a few samples, which no
swing of a hand does. A jump that stays is believed: the hand took a new grip.
"""

from typing import NamedTuple

# Less than this is not told from a jump of the hand here; the fit of the bottom sees to it.
_JUMP_MM = 0.03
_JUMP_SLOPES = 2.0
_LOST_MOST = 3


class Touch(NamedTuple):
    """One believed reading: time in s, value in mm."""

    t_s: float
    value_mm: float


class Contact:
    """Sorts readings into believed and lost, at most `_LOST_MOST` readings behind."""

    def __init__(self) -> None:
        self._last: Touch | None = None
        self._change_mm = 0.0
        self._held: list[Touch] = []
        self.lost: list[Touch] = []

    def feed(self, touch: Touch) -> list[Touch]:
        """Take one reading; gives those that are now believed, in order."""
        if self._last is None:
            return self._believe([touch])
        away_mm = abs(touch.value_mm - self._last.value_mm)
        if not self._held:
            if away_mm <= self._jump_mm(1):
                return self._believe([touch])
            self._held.append(touch)
            return []
        gone_mm = min(abs(held.value_mm - self._last.value_mm) for held in self._held)
        if away_mm <= self._jump_mm(len(self._held) + 1) and away_mm < gone_mm / 2:
            self.lost += self._held
            self._held = []
            return self._believe([touch])
        self._held.append(touch)
        if len(self._held) > _LOST_MOST:
            return self._release()
        return []

    def _release(self) -> list[Touch]:
        held, self._held = self._held, []
        return self._believe(held)

    def _believe(self, touches: list[Touch]) -> list[Touch]:
        for touch in touches:
            if self._last is not None:
                self._change_mm = abs(touch.value_mm - self._last.value_mm)
            self._last = touch
        return touches

    def _jump_mm(self, samples: int) -> float:
        return _JUMP_MM + _JUMP_SLOPES * self._change_mm * samples
