"""What is plugged into this computer, and by which name it is found again."""

from collections.abc import Callable
from dataclasses import dataclass

from serial.tools import list_ports

USB = "usb:"


@dataclass(frozen=True, slots=True)
class Plugged:
    """One port of this computer.

    device: what is opened. usb: the name that stays with the adapter whatever socket it is put
    in, `usb:VID:PID[:SERIAL]`, or "" for a port that is no USB device. about: what the adapter
    says of itself.
    """

    device: str
    usb: str
    about: str


def plugged() -> list[Plugged]:
    """The serial ports of this computer, by device name."""
    found = []
    for port in list_ports.comports():
        usb = ""
        if port.vid is not None:
            usb = f"{USB}{port.vid:04X}:{port.pid:04X}"
            usb += f":{port.serial_number}" if port.serial_number else ""
        about = port.description if port.description not in (None, "n/a") else ""
        found.append(Plugged(port.device, usb, about))
    return sorted(found, key=lambda p: p.device)


def resolve(port: str, among: Callable[[], list[Plugged]] = plugged) -> str:
    """The device behind `usb:VID:PID[:SERIAL]` now; any other port is given back as it is.

    Raises ValueError for a name that is not of this form, FileNotFoundError when nothing like it
    is plugged in, and OSError when several are: the order of plugging never decides.
    """
    if not port.lower().startswith(USB):
        return port
    parts = port.split(":", 3)
    if len(parts) < 3 or not all(_is_hex(part) for part in parts[1:3]):
        raise ValueError(f"{port} is not of the form usb:VID:PID or usb:VID:PID:SERIAL, in hex")
    vid, pid = int(parts[1], 16), int(parts[2], 16)
    wanted = f"{USB}{vid:04X}:{pid:04X}"
    exact = f"{wanted}:{parts[3]}" if len(parts) == 4 else None
    devices = [
        p.device
        for p in among()
        if p.usb == exact or (exact is None and (p.usb == wanted or p.usb.startswith(wanted + ":")))
    ]
    if not devices:
        raise FileNotFoundError(2, f"{port} is not plugged in")
    if len(devices) > 1:
        raise OSError(
            f"{len(devices)} adapters answer to this name ({', '.join(devices)}); add the serial "
            "number, usb:VID:PID:SERIAL, or name the device"
        )
    return devices[0]


def _is_hex(text: str) -> bool:
    return 1 <= len(text) <= 4 and all(c in "0123456789abcdefABCDEF" for c in text)
