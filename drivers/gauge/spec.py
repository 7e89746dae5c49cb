"""What a gauge on this bench is, and how it can stand."""

from dataclasses import dataclass
from enum import StrEnum

from drivers.profile import Profile, SourceUnit


class Speaks(StrEnum):
    """When a gauge sends: all the time, or when its own button is pressed."""

    STREAM = "stream"
    BUTTON = "button"


class GaugeState(StrEnum):
    """How a gauge stands now."""

    SPEAKING = "speaking"
    WAITING = "waiting"  # it speaks on its button, or when it is asked
    SILENT = "silent"
    GONE = "gone"


@dataclass(frozen=True, slots=True)
class GaugeSpec:
    """A gauge on this bench.

    port: any pyserial URL, or a name that the resolver handed to `Gauge` knows. channel: keep
    only this channel of the port; "" keeps all. reverse: it counts backwards, so the sign is
    turned. unit: what a number without a unit word means, over the profile's. resolution: its
    step in the canonical unit, None when unknown.
    """

    name: str
    port: str
    profile: Profile
    channel: str = ""
    reverse: bool = False
    unit: SourceUnit | None = None
    speaks: Speaks = Speaks.STREAM
    resolution: float | None = None
