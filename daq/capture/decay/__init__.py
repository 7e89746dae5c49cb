"""`Decay`: how fast a vacuum is lost, at the start and after the gas has settled."""

from daq.capture.decay.capture import Decay

__all__ = ["Decay"]
