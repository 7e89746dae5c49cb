"""What is plugged into this computer, and what it says."""

import asyncio
from collections.abc import AsyncGenerator, Callable
from contextlib import aclosing
from dataclasses import dataclass
from typing import NamedTuple

from serial.tools import list_ports

from drivers.gauge import Gauge, GaugeSpec
from drivers.profile import Profile
from drivers.reading import Reading

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


class Said(NamedTuple):
    """What came while listening: the bytes, what was understood of them, and, last of all, what
    is wrong (or "")."""

    data: bytes
    readings: list[Reading]
    trouble: str = ""


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


async def listen(
    port: str, profile: Profile, seconds: float, now: Callable[[], float]
) -> AsyncGenerator[Said, None]:
    """What the gauge on `port` says in so many seconds; the last item is empty but for trouble."""
    gauge = Gauge(GaugeSpec(port, port, profile), now, resolve)
    trouble = ""

    def end() -> None:
        nonlocal trouble
        trouble = gauge.trouble
        gauge.stop()

    timer = asyncio.get_running_loop().call_later(seconds, end)
    try:
        async with aclosing(gauge.said()) as said:
            async for chunk, readings in said:
                yield Said(chunk.data, readings)
    finally:
        timer.cancel()
    yield Said(b"", [], trouble)


def _is_hex(text: str) -> bool:
    return 1 <= len(text) <= 4 and all(c in "0123456789abcdefABCDEF" for c in text)
