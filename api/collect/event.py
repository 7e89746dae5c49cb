"""An event as it comes in: taken apart and checked, because anybody may send anything."""

import json
from dataclasses import dataclass
from typing import Any

EVENT_BYTES_MOST = 1024 * 1024
TEXT_CHARS_MOST = 500
CURSOR_MOST = 2**63 - 1


class EventError(ValueError):
    """This is no event of a bench; the sentence says why."""


@dataclass(frozen=True, slots=True)
class Collected:
    """One event. cursor: its place among all of its source; body: the whole of it as JSON."""

    source: str
    cursor: int
    id: str
    type: str
    job: str
    time: str
    body: str


def event_in(payload: bytes) -> Collected:
    """The event that a message holds. Raises EventError."""
    if len(payload) > EVENT_BYTES_MOST:
        raise EventError(f"it is longer than {EVENT_BYTES_MOST} bytes")
    try:
        event = json.loads(payload.decode("utf-8"))
    except (ValueError, RecursionError):
        raise EventError("it is not JSON in UTF-8") from None
    return event_of(event)


def event_of(event: Any) -> Collected:
    """The event in what JSON spelt. Raises EventError."""
    if not isinstance(event, dict) or event.get("specversion") != "1.0":
        raise EventError("it is no CloudEvent 1.0")
    data = event.get("data")
    job = data.get("job") if isinstance(data, dict) else None
    texts = {name: event.get(name) for name in ("source", "id", "type", "time", "cursor")}
    for name, text in {**texts, "data.job": job}.items():
        if not isinstance(text, str) or not 0 < len(text) <= TEXT_CHARS_MOST or "\0" in text:
            raise EventError(f"its {name} is missing or no text of a sensible length")
    cursor = str(texts["cursor"])
    if not (cursor.isascii() and cursor.isdigit() and 0 < int(cursor) <= CURSOR_MOST):
        raise EventError("its cursor is no number")
    body = json.dumps(event, separators=(",", ":"), ensure_ascii=True)
    return Collected(
        source=str(texts["source"]),
        cursor=int(cursor),
        id=str(texts["id"]),
        type=str(texts["type"]),
        job=str(job),
        time=str(texts["time"]),
        body=body,
    )
