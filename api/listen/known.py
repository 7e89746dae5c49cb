"""Show what comes on a port, and what a known profile understands of it."""

import time
from collections.abc import AsyncIterator

from drivers.find import Plugged, listen, plugged
from drivers.profile import load_profile
from drivers.reading import Reading, State

BYTES_SHOWN_MAX = 120


def ports() -> list[Plugged]:
    """The serial ports of this computer."""
    return plugged()


async def heard(port: str, profile: str, seconds: float) -> AsyncIterator[str]:
    """A line for everything that comes on `port`: the bytes, and what was understood of them.

    The last lines say what is wrong, if anything. Raises ProfileError.
    """
    described = load_profile(profile)
    began_s, count = time.monotonic(), 0
    async for said in listen(port, described, seconds, time.monotonic):
        count += len(said.readings)
        if said.data:
            understood = ", ".join(map(_spoken, said.readings)) or "nothing understood"
            shown = repr(bytes(said.data[:BYTES_SHOWN_MAX]))[1:]
            yield f"{time.monotonic() - began_s:7.2f} s  {shown}  →  {understood}"
        if said.trouble:
            yield said.trouble
    yield f"{count} readings understood as profile {described.name!r} in {seconds:g} s."


def _spoken(reading: Reading) -> str:
    number = str(reading.state) if reading.state is not State.OK else f"{reading.value:g}"
    channel = f"{reading.channel}: " if reading.channel else ""
    return f"{channel}{number} {reading.unit}"
