"""Limits read from a CSV into a plan: the good rows are kept, each bad one is named with why.

Columns, in any order, by their header: characteristic, lower, upper, unit, source; optional use
(wear or new), side (I or E), spot, length_mm, kind (maker, guide, shop), acknowledged_by. With a
unit of inches a figure is converted; `lower_mm`, `lower_in` and so on may stand side by side as
pages print them, and then have to agree.
"""

import csv
import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from daq.head.characteristic import characteristic
from daq.head.errors import RefusedError
from daq.head.limits import ENDS
from daq.head.plan import Plan
from daq.head.quantity import canonical, decimal_from

COLUMNS = frozenset(
    {
        *("characteristic", "use", "side", "spot", "length_mm", "unit", "kind", "source"),
        *("acknowledged_by", "lower", "upper"),
        *("lower_mm", "upper_mm", "lower_in", "upper_in"),
    }
)
ROWS_MAX = 1000
_SIDES = {"": "", "I": "_intake", "E": "_exhaust"}
_USES = {"": "limit", "wear": "limit", "new": "limit_new"}


@dataclass(frozen=True, slots=True)
class BadRow:
    """A row that was not taken. line: in the file, from 1."""

    line: int
    text: str


@dataclass(frozen=True, slots=True)
class Imported:
    """A plan with what could be taken, and the rows that could not."""

    plan: Plan
    taken: int
    bad: tuple[BadRow, ...]


def with_limits(plan: Plan, text: str) -> Imported:
    """`plan` with the limits of the CSV `text`. Raises RefusedError for what is no such table."""
    taken, bad = 0, []
    for line, row in _rows(text):
        try:
            plan = _with_row(plan, row)
            taken += 1
        except ValidationError as error:
            first = error.errors(include_url=False, include_context=False, include_input=False)[0]
            said = first["msg"].removeprefix("Value error, ")
            # Of a word that is none of those there are, the library does not say which column.
            where = f"{first['loc'][-1]}: " if first["type"] == "literal_error" else ""
            bad.append(BadRow(line, where + said))
        except RefusedError as error:
            bad.append(BadRow(line, str(error)))
    return Imported(plan, taken, tuple(bad))


def _rows(text: str) -> Iterator[tuple[int, dict[str, str]]]:
    reader = csv.DictReader(io.StringIO(text.removeprefix("\ufeff"), newline=""))
    header = reader.fieldnames or []
    unknown = [name for name in header if name not in COLUMNS]
    if "characteristic" not in header or unknown:
        wrong = f"there is no column {unknown[0]!r}" if unknown else "'characteristic' is missing"
        raise RefusedError(
            f"line 1: {wrong}; the columns are {', '.join(sorted(COLUMNS))}, with commas between"
        )
    try:
        for number, row in enumerate(reader):
            if number >= ROWS_MAX:
                raise RefusedError(f"more than {ROWS_MAX} rows; that is no table of limits")
            plain = {key: (value or "").strip() for key, value in row.items() if key is not None}
            yield reader.line_num, {key: value for key, value in plain.items() if value}
    except csv.Error as error:
        raise RefusedError(f"line {reader.line_num}: this is not CSV: {error}") from None


def _with_row(plan: Plan, row: Mapping[str, str]) -> Plan:
    about = characteristic(row.get("characteristic", ""))
    step = plan.step(about.name)
    if step is None:
        raise RefusedError(f"the plan {plan.name!r} does not ask for {about.name}")
    use, side = row.get("use", ""), row.get("side", "")
    if use not in _USES:
        raise RefusedError(f"use is {use!r}; it is wear or new")
    if side not in _SIDES:
        raise RefusedError(f"side is {side!r}; it is I, E, or empty for both")
    given = step.model_dump(exclude_none=True)
    limit = _limit(row, about.unit)
    if "spot" in row or "length_mm" in row:
        _entry(given, row)[_USES[use]] = limit
    else:
        given[f"{_USES[use]}{_SIDES[side]}"] = limit
    steps = [
        given if each.characteristic == about.name else each.model_dump(exclude_none=True)
        for each in plan.steps
    ]
    found = Plan.model_validate({**plan.model_dump(exclude={"steps"}), "steps": steps})
    before = {doubt.text for doubt in plan.doubts}
    asked = [doubt.text for doubt in found.doubts if doubt.text not in before]
    if asked:
        raise RefusedError("; ".join(asked))
    return found


def _entry(given: dict[str, Any], row: Mapping[str, str]) -> dict[str, Any]:
    """The place under `at` that a row names."""
    length = decimal_from(row["length_mm"], "length_mm") if "length_mm" in row else None
    for each in given.get("at", ()):
        if each.get("spot") == row.get("spot") and each.get("length_mm") == length:
            found: dict[str, Any] = each
            return found
    places = "; ".join(str(each.get("spot") or each["length_mm"]) for each in given.get("at", ()))
    raise RefusedError(
        f"{given['characteristic']} has no place {row.get('spot') or length}; there are "
        f"{places or 'none'}"
    )


def _limit(row: Mapping[str, str], expected: str) -> dict[str, Any]:
    """The limit of a row, its figures in `expected`, both of a printed pair kept to be compared."""
    found: dict[str, Any] = {
        "kind": row.get("kind", "maker"),
        "source": row.get("source", ""),
        "acknowledged_by": row.get("acknowledged_by"),
    }
    if not found["source"]:
        raise RefusedError("source is missing: who says this limit, and where?")
    for end in ENDS:
        if end in row:
            number = decimal_from(row[end], end)
            found[end] = canonical(number, row.get("unit", expected), expected=expected)
        for key in (f"{end}_mm", f"{end}_in"):
            if key not in row:
                continue
            if expected != "mm" or end in row:
                raise RefusedError(f"{key} does not go with {end} in {expected}")
            found[end if key.endswith("_mm") else key] = decimal_from(row[key], key)
    return found
