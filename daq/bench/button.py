"""The gauge's own button while a value stands: it goes on, and its number may be the next one."""

from collections.abc import Sequence

from drivers.reading import Reading

# Nobody sets a gauge down at another place and presses in less; a contact that bounces, or a gauge
# that streams and was said to speak on its button only, is faster.
APART_S = 0.5


class Button:
    """Of the gauge that took the last value. trace: what it was taken from.

    streams: it speaks without its button, too. too_soon: what was pressed last came so soon after
    what came before it that it was not believed.
    """

    def __init__(self, trace: Sequence[Reading]) -> None:
        self.streams = any(not reading.commit for reading in trace)
        self.too_soon = False
        self._last_t_s = trace[-1].t_s

    def pressed(self, readings: Sequence[Reading]) -> Sequence[Reading]:
        """The readings from a press on that is believed; none where there is no such press."""
        for number, reading in enumerate(readings):
            if not reading.commit:
                self.streams = True
                continue
            apart_s, self._last_t_s = reading.t_s - self._last_t_s, reading.t_s
            self.too_soon = apart_s < APART_S
            if not self.too_soon:
                return readings[number:]
        return ()
