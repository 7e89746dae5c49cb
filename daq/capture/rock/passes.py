"""`Passes`: each time a rocked gauge went through its least reading, found as it happens.

A turning point counts once the reading has come back from it by the hysteresis, so noise makes
none. One pass runs from one highest reading over the lowest to the next highest.
"""

from typing import NamedTuple

from daq.capture.rock.contact import Touch

# Less rise than this above its bottom is no swing.
_RISE_MM = 0.004
_RISE_STEPS = 4.0


class Pass(NamedTuple):
    """Places in `Passes.touches`: highest before, lowest, highest after."""

    before: int
    bottom: int
    after: int


class Passes:
    """Turning points with hysteresis, one believed reading at a time."""

    def __init__(self) -> None:
        self.touches: list[Touch] = []
        self._falling = True
        self._top = 0
        self._bottom = 0
        self._rising_to = 0

    def feed(self, touch: Touch, step_mm: float) -> Pass | None:
        """Take one; gives a pass when the reading has come down again from its second top."""
        here = len(self.touches)
        self.touches.append(touch)
        rise_mm = max(_RISE_MM, _RISE_STEPS * step_mm)
        if self._falling:
            if self._higher(here, self._top) and self._bottom == self._top:
                self._top = self._bottom = here
            elif not self._higher(here, self._bottom):
                self._bottom = here
            elif self._apart_mm(here, self._bottom) >= rise_mm:
                self._falling, self._rising_to = False, here
            return None
        if self._higher(here, self._rising_to):
            self._rising_to = here
            return None
        if self._apart_mm(self._rising_to, here) < rise_mm:
            return None
        done = self.open()
        self._falling, self._top, self._bottom = True, self._rising_to, here
        return done

    def open(self) -> Pass | None:
        """The pass whose second top is not certain yet, if its bottom is."""
        if self._falling:
            return None
        return Pass(self._top, self._bottom, self._rising_to)

    def _higher(self, one: int, other: int) -> bool:
        return self.touches[one].value_mm > self.touches[other].value_mm

    def _apart_mm(self, one: int, other: int) -> float:
        return self.touches[one].value_mm - self.touches[other].value_mm
