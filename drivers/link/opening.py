"""Open a port by its URL, and say in one sentence what stands in the way."""

import errno
import os
import sys
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import serial

try:
    import grp
    import pwd
    import termios

    PORT_ERRORS: tuple[type[Exception], ...] = (OSError, ValueError, termios.error)
except ImportError:  # Windows has none of the three
    PORT_ERRORS = (OSError, ValueError)

Resolve = Callable[[str], str]
"""Turns a port's name from the configuration into what can be opened now; may raise OSError."""

_PARITIES = {"none": "N", "even": "E", "odd": "O", "mark": "M", "space": "S"}
READ_WAIT_S = 0.05  # a reading thread looks so often whether it should end

_HELD = {errno.EBUSY, errno.EAGAIN, errno.EWOULDBLOCK}
_NOT_THERE = {errno.ENOENT, errno.ENODEV, errno.ENXIO, errno.EIO}


@dataclass(frozen=True, slots=True)
class PortSettings:
    """Line settings; a port without a line (a socket) ignores them."""

    baud: int = 9600
    bytesize: int = 8
    parity: Literal["none", "even", "odd", "mark", "space"] = "none"
    stop_bits: int = 1
    dtr: bool = True
    rts: bool = True


def as_named(port: str) -> str:
    """The plain resolver: the name is the port."""
    return port


def open_port(url: str, settings: PortSettings) -> serial.Serial:
    """Open for this process alone. Raises one of PORT_ERRORS."""
    port: serial.Serial = serial.serial_for_url(
        native_name(url),
        do_not_open=True,
        baudrate=settings.baud,
        bytesize=settings.bytesize,
        parity=_PARITIES[settings.parity],
        stopbits=settings.stop_bits,
        timeout=READ_WAIT_S,
        exclusive=True,
    )
    port.dtr = settings.dtr
    port.rts = settings.rts
    port.open()
    return port


def descriptor_of(port: serial.Serial) -> int | None:
    """The descriptor an event loop can watch, or None where there is none."""
    if sys.platform == "win32":
        return None
    try:
        return int(port.fileno())
    except (AttributeError, OSError):  # io.UnsupportedOperation is an OSError
        return None


def native_name(url: str, system: str = sys.platform) -> str:
    """The name under which this system opens that port; a URL is left alone.

    macOS gives every port two names, and the one that begins with `tty.` waits for a modem's
    carrier that no gauge sends. Windows writes COM3, and in old habit COM3: with a colon.
    """
    if "://" in url:
        return url
    if system == "darwin" and url.startswith("/dev/tty."):
        return "/dev/cu." + url.removeprefix("/dev/tty.")
    if system == "win32":
        return url.removesuffix(":").upper() if url[:3].upper() == "COM" else url
    return url


def trouble_of(url: str, error: Exception, system: str = sys.platform) -> str:
    """What stands in the way of opening `url`, and what to do about it; one sentence or two."""
    number = getattr(error, "errno", None)
    said = str(error) if system == "win32" else ""
    # Windows says "access is denied" of a port that another program holds, and pyserial hands on
    # its words without a number.
    if number in _HELD or "PermissionError" in said:
        return (
            f"{url} is in use by another program. Close whatever else reads this gauge "
            "(a terminal program, another benchtally)."
        )
    if number in (errno.EACCES, errno.EPERM):
        return f"{url} may not be opened by {_user(system)}. {_permission_advice(url, system)}"
    if number in _NOT_THERE or "FileNotFoundError" in said:
        return (
            f"{url} is not there. Plug the gauge in and switch it on; `benchtally gauges` lists "
            "the ports of this computer."
        )
    if isinstance(error, ValueError):
        return f"{url} cannot be opened with these settings: {error}. Correct port or profile."
    if number is not None:
        return f"{url} cannot be opened: {os.strerror(number)}. It is tried again by itself."
    reason = str(error).rstrip(".")
    return f"{url} cannot be opened: {reason}. It is tried again by itself."


def lost_of(url: str, error: Exception | None) -> str:
    """The sentence for a port that was open and went away."""
    reason = f" ({error})" if error else ""
    return (
        f"{url} went away{reason}. Plug the gauge in and switch it on; it is taken up again "
        "by itself."
    )


def _user(system: str) -> str:
    if system == "win32":
        return "this user"
    try:
        return pwd.getpwuid(os.geteuid()).pw_name
    except KeyError:
        return f"user {os.geteuid()}"


def _permission_advice(url: str, system: str) -> str:
    if system == "darwin":
        return (
            f"Ports are open to everybody on macOS unless a driver says otherwise: look at `ls -l "
            f"{url}`, and allow the adapter's driver in the system settings under privacy."
        )
    if not system.startswith("linux"):
        return "Give this user the right to use serial ports, then start again."
    try:
        group = grp.getgrgid(os.stat(url).st_gid).gr_name  # noqa: PTH116 - a URL is no Path
    except (OSError, KeyError):
        group = "dialout"
    if group == "root":
        return "Ask the administrator of this computer for the right to use it."
    return (
        f"Once: sudo usermod -aG {group} {_user(system)}, then log out and in again, so that the "
        "new group counts."
    )
