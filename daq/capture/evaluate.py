"""One place that builds the capture of a kind and lets it evaluate readings.

The bench and the evaluation of recordings both come here, so a stored trace is evaluated by the
very thing that captured it.
"""

from collections.abc import Sequence

from daq.capture.base import Capture, Captured, Kind, Setup
from daq.capture.decay import Decay
from daq.capture.look import Look
from daq.capture.rock import Rock
from daq.capture.settle import Settle
from daq.capture.turn import Turn
from drivers.reading import Reading


def new_capture(kind: Kind, setup: Setup, *, moved_first: bool = False) -> Capture:
    """A capture of `kind` that has seen nothing yet. moved_first: for `Settle`, see there."""
    if kind is Kind.TURN:
        return Turn(setup)
    if kind is Kind.ROCK:
        return Rock(setup)
    if kind is Kind.SETTLE:
        return Settle(setup, moved_first=moved_first)
    if kind is Kind.DECAY:
        return Decay(setup)
    return Look()


def evaluate(
    kind: Kind, readings: Sequence[Reading], setup: Setup, *, moved_first: bool = False
) -> Captured:
    """The value of `readings`, all fed to a new capture."""
    capture = new_capture(kind, setup, moved_first=moved_first)
    capture.feed(readings)
    return capture.result()
