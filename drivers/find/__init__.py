"""What is plugged into this computer, and what it says."""

from drivers.find.known import Said, listen
from drivers.find.ports import Plugged, plugged, resolve

__all__ = ["Plugged", "Said", "listen", "plugged", "resolve"]
