"""What is plugged into this computer, and what it says."""

from drivers.find.adapters import Adapters, resolve
from drivers.find.known import Said, listen
from drivers.find.ports import Plugged, plugged

__all__ = ["Adapters", "Plugged", "Said", "listen", "plugged", "resolve"]
