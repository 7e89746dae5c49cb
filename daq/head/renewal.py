"""What has been put back to new since the head came in, read from the rework in its record."""

from collections.abc import Mapping
from typing import Any

from daq.head.characteristic import characteristic
from daq.head.layout import HEAD
from daq.head.plan import Target
from daq.head.record import EntryKind, Record

# A clearance is as new as the bore or the stem that was made new.
_MEASURED_ON = {
    "guide.clearance_max": ("guide.diameter", "valve.stem_diameter"),
    "guide.clearance_min": ("guide.diameter", "valve.stem_diameter"),
    "guide.clearance_mean": ("guide.diameter", "valve.stem_diameter"),
}


def made_new(record: Record, target: Target) -> str:
    """What the last work was that put `target` back to new, in words; "" while it is as found."""
    asked = _MEASURED_ON.get(target.characteristic, (target.characteristic,))
    for entry in reversed(record.of_kind(EntryKind.REWORKED)):
        body = entry.body
        if body["position"] not in {target.position, HEAD}:
            continue
        if any(name in renewed(body) for name in asked):
            return f"{body['part']}: {body['what']}"
    return ""


def renewed(body: Mapping[str, Any]) -> frozenset[str]:
    """The characteristics that a noted work puts back to new.

    A record from before works were told apart names only what became untrue: of that, what the
    worked part can make new.
    """
    if "renews" in body:
        return frozenset(body["renews"])
    return frozenset(
        name for name in body["invalidates"] if body["part"] in characteristic(name).made_new_by
    )
