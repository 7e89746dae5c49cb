"""Bytes from any pyserial URL, opened, watched and opened again after a loss."""

from drivers.link.keys import Keys
from drivers.link.link import Chunk, Link, LinkState, Start
from drivers.link.opening import PORT_ERRORS, PortSettings, Resolve, as_named

__all__ = [
    "PORT_ERRORS",
    "Chunk",
    "Keys",
    "Link",
    "LinkState",
    "PortSettings",
    "Resolve",
    "Start",
    "as_named",
]
