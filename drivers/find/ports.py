"""What is plugged into this computer."""

from dataclasses import dataclass

from serial.tools import list_ports

USB = "usb:"


@dataclass(frozen=True, slots=True)
class Plugged:
    """One port of this computer.

    device: what is opened. usb: the name that stays with the adapter whatever socket it is put
    in, `usb:VID:PID[:SERIAL]`, or "" for a port that is no USB device. about: what the adapter
    says of itself. socket: where it is plugged in, like `1-1.2`, or "" where that is not known.
    """

    device: str
    usb: str
    about: str
    socket: str = ""

    @property
    def has_serial(self) -> bool:
        """Whether its USB name tells it from another adapter of the same make."""
        return self.usb.count(":") > 2


def plugged() -> list[Plugged]:
    """The serial ports of this computer, by device name."""
    found = []
    for port in list_ports.comports():
        usb = ""
        if port.vid is not None:
            usb = f"{USB}{port.vid:04X}:{port.pid:04X}"
            usb += f":{port.serial_number}" if port.serial_number else ""
        about = port.description if port.description not in (None, "n/a") else ""
        socket = (port.location or "").partition(":")[0] if usb else ""
        found.append(Plugged(port.device, usb, about, socket))
    return sorted(found, key=lambda p: p.device)
