"""Every wire by the name that profiles use; a new one is tested the moment it stands here."""

from drivers.wires.ask import Ask
from drivers.wires.base import Wire
from drivers.wires.frame import Frame
from drivers.wires.line import Line
from drivers.wires.modbus import Modbus
from drivers.wires.picture import Picture
from drivers.wires.typed import Typed

WIRES: dict[str, type[Wire]] = {
    "line": Line,
    "ask": Ask,
    "frame": Frame,
    "modbus": Modbus,
    "picture": Picture,
    "typed": Typed,
}
