"""Place what is said in binary frames: cut it, find the number, write the table `frame`."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from drivers.find.placing.frames import Columns, Frames, columns_of, frames_of
from drivers.find.placing.numbers import Number, number_of
from drivers.find.placing.split import Sound, Split
from drivers.find.placing.unit import ASSUMED_MM, DECIMALS_OF_MM_MAX, VALUE_OF_MM
from drivers.profile import CANONICAL, SourceUnit
from drivers.reading import on_value_grid

RUN_CELLS_MAX = 16
UNIT_UNKNOWN = "the unit is not said, and it may be millimetres or inches"
UNIT_LETTERS = {"6d6d": SourceUnit.MM, "4d4d": SourceUnit.MM, "696e": SourceUnit.INCH}


@dataclass(frozen=True)
class FoundFrame:
    """A form that explains the frames.

    table: of the profile. unit: None where it is in doubt. values: what has to be read back, in
    the canonical unit.
    """

    table: dict[str, Any]
    unit: SourceUnit | None
    assumed: tuple[str, ...]
    checked: bool
    values: frozenset[float]


def found_frame(sound: Sound, split: Split | None) -> tuple[FoundFrame | None, str]:
    """The frame form, and why there is none."""
    why = "these bytes are no text, and no frame was found in them"
    for frames in frames_of(sound, split):
        columns = columns_of(frames)
        number, reason = number_of(frames, columns)
        if number is None:
            why = reason
            continue
        unit, assumed = _unit(columns, number)
        table = _table(frames, columns, number)
        checked = frames.check is not None
        factor = CANONICAL[unit][1] if unit is not None else Decimal(1)
        values = frozenset(on_value_grid(v * factor) + 0.0 for v in number.values)
        found = FoundFrame(table, unit, assumed, checked, values)
        return found, "" if unit is not None else UNIT_UNKNOWN
    return None, why


def _unit(columns: Columns, number: Number) -> tuple[SourceUnit | None, tuple[str, ...]]:
    for at in range(0, len(columns.cells[0]) - 3, 2):
        if (unit := UNIT_LETTERS.get(columns.fixed(at, 4) or "")) is not None:
            return unit, ()
    decimals = max(-int(v.as_tuple().exponent) for v in number.values)
    if number.kind == "float" and decimals > DECIMALS_OF_MM_MAX + 1:
        decimals = 0  # not born as a decimal number: nothing can be seen from its digits
    if decimals > DECIMALS_OF_MM_MAX and max(map(abs, number.values)) < VALUE_OF_MM:
        return None, ()
    return SourceUnit.MM, (ASSUMED_MM,)


def _table(frames: Frames, columns: Columns, number: Number) -> dict[str, Any]:
    taken = _taken(frames, columns, number)
    start, stop = _edges(frames, taken)
    table: dict[str, Any] = {"bytes": frames.size}
    if start:
        table["start"] = start.hex(" ").upper()
    if stop:
        table["stop"] = stop.hex(" ").upper()
    if frames.packing != "high-first":
        table["packing"] = frames.packing
    field = number.field
    table["number"] = {
        "at": field.at,
        "digits": field.digits,
        "kind": number.kind,
        "order": field.order,
    }
    if number.sign is not None:
        table["sign"] = {"at": number.sign.at, "plus": number.plus, "minus": number.minus}
    if number.decimals is not None:
        table["decimals"] = {"at": number.decimals.at}
    edges = set(range(frames.per_byte * len(start)))
    edges |= set(range(frames.per_byte * (frames.size - len(stop)), len(columns.cells[0])))
    if run := max(_fixed_runs(columns, taken | edges), key=len, default=range(0)):
        said = columns.cells[0][run.start : run.stop]
        # Whatever these say, nobody knows what another value would mean: it is no number then.
        table["state"] = {
            "at": run.start,
            "digits": len(run),
            "words": {f"0x{said}": "ok"},
        }
    if frames.check is not None:
        check = frames.check
        at = frames.size - check.behind - check.size()
        table["checksum"] = {
            "kind": check.kind,
            "at": at,
            "first": check.first,
            "last": at - check.between - 1,
            "order": "low-first" if check.low_first else "high-first",
        }
    return table


def _taken(frames: Frames, columns: Columns, number: Number) -> set[int]:
    """Half bytes that have a meaning, or that change."""
    taken = number.field.covers() | frames.checked()
    for field in (number.sign, number.decimals):
        taken |= field.covers() if field is not None else set()
    changing = {at for at in range(len(columns.cells[0])) if columns.fixed(at, 1) is None}
    return taken | changing


def _edges(frames: Frames, taken: set[int]) -> tuple[bytes, bytes]:
    """The bytes that every frame begins and ends with."""
    width = frames.per_byte
    free = [not {width * i, width * i + width - 1} & taken for i in range(frames.size)]
    start = next((i for i, is_free in enumerate(free) if not is_free), frames.size)
    stop = next((i for i, is_free in enumerate(reversed(free)) if not is_free), 0)
    row = frames.rows[0]
    return row[:start], row[frames.size - stop :] if stop else b""


def _fixed_runs(columns: Columns, taken: set[int]) -> Iterator[range]:
    at, size = 0, len(columns.cells[0])
    while at < size:
        end = at
        while end < size and end not in taken and end - at < RUN_CELLS_MAX:
            end += 1
        if end > at:
            yield range(at, end)
        at = max(end, at + 1)
