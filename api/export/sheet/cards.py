"""One card a position: its bore and stem cut open, its turns unrolled or round."""

from decimal import Decimal
from typing import Any

from api.export.given import Given
from api.export.series import counts
from api.export.sheet.drawing import around, section, strip, unrolled
from api.export.sheet.said import bounds, figure, unit_said
from api.export.units import MM_PER_INCH
from api.export.words import SHAPES, name_of
from daq.head.characteristic import CATALOGUE
from daq.head.measurement import Measurement
from daq.head.view import RecordView


def cards(record: RecordView, given: Given) -> list[dict[str, Any]]:
    """In the order of the positions; a position without a picture has no card."""
    here: dict[str, list[Measurement]] = {}
    for m in record.measurements:
        if counts(m):
            here.setdefault(m.position, []).append(m)
    found = [
        {"position": position, "pictures": _pictures(ms, given)} for position, ms in here.items()
    ]
    return [card for card in found if card["pictures"]]


def keys(found: list[dict[str, Any]]) -> list[str]:
    """How to read the pictures of these cards, each kind once."""
    return list(dict.fromkeys(each["key"] for card in found for each in card["pictures"]))


def _pictures(here: list[Measurement], given: Given) -> list[dict[str, str]]:
    places: dict[str, list[Measurement]] = {}
    for m in here:
        if m.place is not None:
            places.setdefault(m.characteristic, []).append(m)
    pictures = [_section(name, takes) for name, takes in places.items()]
    pictures += [_turn(m, given) for m in here if _is_turn(m)]
    return [picture for picture in pictures if picture["svg"]]


def _is_turn(m: Measurement) -> bool:
    about = CATALOGUE.get(m.characteristic)
    return about is not None and about.capture == "turn" and m.trace_sha256 is not None


def _section(name: str, takes: list[Measurement]) -> dict[str, str]:
    values = [m for m in takes if m.value is not None]
    least = min(values, key=lambda m: m.value or 0)
    most = max(values, key=lambda m: m.value or 0)
    unit = unit_said(least.unit)
    return {
        "title": name_of(name),
        "svg": section(takes),
        "words": f"least {figure(least)}, most {figure(most)} {unit}",
        "key": "Sections: — along the head, ╌ across; depth downwards; what the uncertainty alone "
        "could do looks small",
    }


def _turn(m: Measurement, given: Given) -> dict[str, str]:
    turn = unrolled(given.trace(m.trace_sha256 or ""), m.detail.get("rejected") or [])
    is_round = turn is not None and m.detail.get("harmonics") is not None and len(turn.marks) > 1
    svg = "" if turn is None else around(turn) if is_round else strip(turn, _in_mm(m))
    limit = f", limit {bounds(m.limits)}" if m.limits else ""
    key = (
        "Round: one turn between index marks, even speed taken; ring: highest point"
        if is_round
        else "Turns unrolled: the whole trace, time from left to right; rings: highest and lowest"
    )
    return {
        "title": name_of(m.characteristic),
        "svg": svg,
        "words": f"{SHAPES[m.status]} {figure(m)} {unit_said(m.unit)}{limit}",
        "key": key,
    }


def _in_mm(m: Measurement) -> Decimal | None:
    """The runout as the trace has it: traces are in mm whatever the sheet is printed in."""
    if m.value is None or m.unit == "mm":
        return m.value
    return m.value * MM_PER_INCH
