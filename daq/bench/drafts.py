"""The entries that say what is being captured, and that a capture ended without a value."""

from daq.head.plan import Target
from daq.head.record import Draft, EntryKind


def up_draft(job: str, target: Target) -> Draft:
    """What is being captured from here on."""
    return Draft(job, EntryKind.UP, _spoken(target))


def broken_draft(job: str, target: Target, reason: str) -> Draft:
    """A capture ended without a value."""
    return Draft(job, EntryKind.BROKEN, {**_spoken(target), "reason": reason})


def _spoken(target: Target) -> dict[str, object]:
    return {
        "characteristic": target.characteristic,
        "position": target.position,
        "place": None if target.place is None else target.place.model_dump(mode="json"),
    }
