"""Tell adapters apart that have the same name: the one whose spindle moves is meant."""

import asyncio
from collections.abc import Callable, Sequence

from drivers.find.overhear import Overheard, Patience, overhear
from drivers.find.ports import Plugged, plugged
from drivers.profile import Profile
from drivers.reading import State

MOVED_MM = 0.05  # the least that somebody who moves a spindle on purpose moves it
STILL_MM = 0.01  # the most that a gauge nobody touches wanders


async def which_moves(
    devices: Sequence[str],
    shipped: Sequence[Profile],
    now: Callable[[], float],
    tell: Callable[[str], None],
    patience: Patience | None = None,
) -> str | None:
    """The only device whose readings moved while all others stayed still, or None.

    One that says nothing, or nothing that can be read, has not moved.
    """
    heard = await asyncio.gather(
        *(overhear(device, shipped, now, tell, patience) for device in devices)
    )
    travels_mm = [travel_mm(each) for each in heard]
    moved = [d for d, t in zip(devices, travels_mm, strict=True) if t >= MOVED_MM]
    still = [t for t in travels_mm if t <= STILL_MM]
    return moved[0] if len(moved) == 1 and len(still) == len(devices) - 1 else None


def travel_mm(heard: Overheard) -> float:
    """From the least to the largest reading, 0 where nothing was read."""
    if not heard.placed.proposals:
        return 0.0
    values = [s.value for s in heard.placed.proposals[0].said if s.state is State.OK]
    return max(values) - min(values) if values else 0.0


def alike(port: str, among: Callable[[], list[Plugged]] = plugged) -> list[Plugged]:
    """The adapters without a serial number that a bare `usb:VID:PID` names, if it names several."""
    here = [p for p in among() if p.usb and not p.has_serial and p.usb.lower() == port.lower()]
    return here if len(here) > 1 else []


def socket_name(adapter: Plugged) -> str:
    """The name that stays with the socket it is in, where the system tells its socket."""
    return f"{adapter.usb}@{adapter.socket}" if adapter.socket else adapter.device
