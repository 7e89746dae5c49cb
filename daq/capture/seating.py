"""`Seating`: did a gauge that closes on its part go on closing after its value was taken?

A micrometer that pauses on its way stands still, too, and what it shows then is too large. Once it
is seated it can close no further, so a still reading below the taken one, while the part is not
out, says that the first was none of a seated gauge (or that it was moved to a thinner place without
being opened). A part that is taken out opens it: that is `Leaving`, and no reading above counts.
"""

from collections.abc import Sequence

from daq.capture.base import Setup
from daq.capture.presence import MOVING_MM_MIN, MOVING_STEPS
from daq.capture.settle import TREMBLE_MM_MOST, TREMBLE_STEPS_MOST
from daq.capture.still import StillWindow
from drivers.reading import Reading, State


class Seating:
    """Fed with the readings after a value was taken, until the part was seen to leave.

    taken_mm: that value, as the gauge showed it.
    """

    def __init__(self, taken_mm: float, setup: Setup) -> None:
        step_mm = setup.resolution or 0.0
        # More than a still gauge shows of itself, and than two readings of one place may differ by.
        self._worth_mm = max(
            MOVING_STEPS * step_mm, MOVING_MM_MIN, 2.0 * (setup.error_limit or 0.0)
        )
        self._step_mm = step_mm
        self.taken_mm = self._seated_mm = taken_mm
        self._window = StillWindow()
        self._further_mm: float | None = None

    @property
    def further_mm(self) -> float | None:
        """Where it stood still after it went on; None while it did not."""
        return self._further_mm

    def feed(self, readings: Sequence[Reading]) -> None:
        """Take more readings, in order of time."""
        for reading in readings:
            if reading.state is not State.OK:
                self._window.clear()
                continue
            self._window.feed(reading.t_s, reading.value)
            window = self._window.window()
            if window is None or self._seated_mm - window.mean <= self._worth_mm:
                continue
            tremble_most = max(TREMBLE_STEPS_MOST * self._step_mm, TREMBLE_MM_MOST)
            if window.is_still(self._step_mm, tremble_most):
                self._seated_mm = self._further_mm = window.mean
