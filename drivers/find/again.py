"""Listen once more to a port that was placed, or nearly: the same settings, the same request."""

from collections.abc import Callable

from drivers.find.ear import Ear
from drivers.find.overhear import Overheard
from drivers.find.placing.split import Sound
from drivers.link import PortSettings

ASK_EVERY_S = 0.1


async def again(port: str, heard: Overheard, seconds: float, now: Callable[[], float]) -> Sound:
    """What is said in so many seconds; empty when the port cannot be opened."""
    settings = PortSettings(**heard.settings)
    asked = heard.sound.asked
    async with Ear(port, settings, now) as ear:
        if not await ear.opened(2.0):
            return Sound(b"")
        end_s = now() + seconds
        while (left_s := end_s - now()) > 0:
            if asked:
                await ear.send(asked)
            await ear.wait_for_more(min(ASK_EVERY_S, left_s))
        return ear.sound(0, asked)
