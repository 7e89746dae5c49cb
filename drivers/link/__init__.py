"""Bytes from any pyserial URL, opened, watched and opened again after a loss."""

from drivers.link.keys import Keys
from drivers.link.link import Chunk, Link, LinkState, Start
from drivers.link.opening import PortSettings, Resolve, as_named

__all__ = ["Chunk", "Keys", "Link", "LinkState", "PortSettings", "Resolve", "Start", "as_named"]
