"""Closing a job: a named person signs, and what is open is listed under the signature.

Signing decides nothing: a part that is not measured or unsure stays what it is in the record. One
written reason may cover many unsure parts; each of them is listed with what would settle it.
"""

from daq.head.deciding.open_points import OpenPoint
from daq.head.deciding.outcome import Verdict
from daq.head.errors import ConflictError
from daq.head.record import Draft, EntryKind, Record
from daq.head.view import record_view

NAMED_MOST = 3


def signed(record: Record, person: str, reason: str | None) -> Draft:
    """The draft that closes the job. Raises ConflictError while a part is unsure and no reason
    is written for signing all the same."""
    points = record_view(record).open_points
    unsure = [point for point in points if point.decision is Verdict.UNSURE]
    if unsure and not reason:
        raise ConflictError(_asks_for_a_reason(unsure))
    return Draft(
        record.job,
        EntryKind.SIGNED,
        {
            "person": person,
            "reason": reason,
            "open": [point.model_dump(mode="json") for point in points],
        },
    )


def _asks_for_a_reason(unsure: list[OpenPoint]) -> str:
    parts = dict.fromkeys(f"{point.position} {point.part}" for point in unsure)
    named = "; ".join(
        f"{point.position} {point.part}: {point.text} (what would settle it: {point.settles})"
        for point in unsure[:NAMED_MOST]
    )
    more = f"; and {len(unsure) - NAMED_MOST} more" if len(unsure) > NAMED_MOST else ""
    return (
        f"{len(parts)} part{' is' if len(parts) == 1 else 's are'} unsure and would be signed so; "
        f"settle them, or write a 'reason' that covers them. {named}{more}"
    )
