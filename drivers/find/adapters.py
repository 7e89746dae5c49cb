"""By which name an adapter is found again, and when nobody can say which one is meant.

An adapter with a serial number of its own is found in any socket. Two of the same make without one,
or with the same one, look alike: which gauge hangs on which is known only while they stay where
they are. So their common name is refused as soon as two were seen, and `usb:VID:PID@SOCKET`, the
name for one of them in its socket, is refused once both were away at the same time: they may have
changed places. The order of plugging never decides.
"""

import re
from collections import Counter
from collections.abc import Callable
from threading import Lock
from typing import NamedTuple

from drivers.find.ports import USB, Plugged, plugged

_NAME = re.compile(
    r"usb:([0-9a-f]{1,4}):([0-9a-f]{1,4})(?::(?P<serial>[^@].*)|@(?P<socket>[^:@]+))?",
    re.IGNORECASE | re.DOTALL,
)


class _Name(NamedTuple):
    kind: str  # usb:VID:PID
    serial: str
    socket: str


class Adapters:
    """Which port is behind a USB name now; remembers what it saw. Safe to ask from several threads.

    among: looks at what is plugged in now.
    """

    def __init__(self, among: Callable[[], list[Plugged]] = plugged) -> None:
        self._among = among
        self._lock = Lock()
        self._most: Counter[str] = Counter()  # that look alike, seen at one time
        self._mixed: set[str] = set()  # names of those that may have changed places

    def resolve(self, port: str) -> str:
        """The device behind `usb:VID:PID[:SERIAL]` or `usb:VID:PID@SOCKET`; others as they are.

        Raises ValueError for a name that is not of this form, FileNotFoundError when nothing like
        it is plugged in, and OSError with a sentence when it is not certain which one is meant.
        """
        if not port.lower().startswith(USB):
            return port
        name = _parsed(port)
        here = self._among()
        with self._lock:
            self._remember(here)
            return self._found(port, name, here)

    def told_apart(self, kind: str) -> None:
        """Somebody moved a spindle: adapters of this kind, `usb:VID:PID`, are where they belong."""
        with self._lock:
            self._mixed -= self._mixed_of(_parsed(kind))

    def _remember(self, here: list[Plugged]) -> None:
        alike = Counter(p.usb for p in here if p.usb)
        for usb in {*alike, *self._most}:
            self._most[usb] = max(self._most[usb], alike[usb])
            if self._most[usb] >= 2 and alike[usb] <= self._most[usb] - 2:
                self._mixed.add(usb)

    def _mixed_of(self, name: _Name) -> set[str]:
        return {usb for usb in self._mixed if usb == name.kind or usb.startswith(name.kind + ":")}

    def _found(self, port: str, name: _Name, here: list[Plugged]) -> str:
        kin = _kin(name, here)
        if name.socket and self._mixed_of(name):
            raise OSError(_mixed_up(port))
        if not kin:
            raise FileNotFoundError(2, f"{port} is not plugged in")
        twins = self._most[kin[0].usb]
        if len(kin) > 1 or (not name.socket and twins > 1):
            raise OSError(_which_of(kin, max(len(kin), twins)))
        return kin[0].device


def matching(port: str, among: Callable[[], list[Plugged]] = plugged) -> list[str]:
    """All devices that answer to this name now; a port that is no USB name is its own.

    Raises ValueError for a USB name that is not of its form.
    """
    if not port.lower().startswith(USB):
        return [port]
    return [p.device for p in _kin(_parsed(port), among())]


def resolve(port: str, among: Callable[[], list[Plugged]] = plugged) -> str:
    """What `Adapters.resolve` says at one look, without memory."""
    return Adapters(among).resolve(port)


def _parsed(port: str) -> _Name:
    match = _NAME.fullmatch(port)
    if match is None:
        raise ValueError(
            f"{port} is not of the form usb:VID:PID, usb:VID:PID:SERIAL or usb:VID:PID@SOCKET, "
            "with VID and PID in hex"
        )
    kind = f"{USB}{int(match[1], 16):04X}:{int(match[2], 16):04X}"
    return _Name(kind, match["serial"] or "", match["socket"] or "")


def _kin(name: _Name, here: list[Plugged]) -> list[Plugged]:
    """The adapters that answer to a name."""
    kin = [p for p in here if p.usb == name.kind or p.usb.startswith(name.kind + ":")]
    if name.serial:
        return [p for p in kin if p.usb == f"{name.kind}:{name.serial}"]
    return [p for p in kin if not name.socket or p.socket == name.socket]


def _which_of(kin: list[Plugged], count: int) -> str:
    """How to tell adapters apart that answer to one name."""
    devices = ", ".join(p.device for p in kin)
    if len({p.usb for p in kin}) > 1:
        return (
            f"{count} adapters answer to this name ({devices}); add the serial number, like "
            f"{kin[0].usb}"
        )
    return (
        f"{count} adapters that look alike answer to this name (now {devices}) and have no serial "
        "number of their own; tell them apart by moving a spindle while `benchtally gauges "
        f"--listen` hears it, then name the socket, like {_make(kin[0])}@{kin[0].socket or '1-1.2'}"
    )


def _make(adapter: Plugged) -> str:
    return ":".join(adapter.usb.split(":")[:3])


def _mixed_up(port: str) -> str:
    return (
        f"adapters that look alike were unplugged at the same time, and {port} may be another one "
        "now; move its spindle while `benchtally gauges --listen` hears it, then start again"
    )
