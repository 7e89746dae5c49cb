"""Runout of a part turned by hand: `Turn`, fed with readings, done when a whole turn is proven."""

from daq.capture.turn.turn import Turn

__all__ = ["Turn"]
