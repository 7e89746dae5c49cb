"""Measurements from a table: each row becomes a value to be sent, or a sentence why not.

The columns are those of the CSV export; what another program leaves out is not needed.
"""

from collections.abc import Mapping
from typing import Any, NamedTuple

from pydantic import ValidationError

from api.bring.rows import Row
from api.export.columns import COLUMNS
from api.rest.asked import MeasurementAsked
from daq.head.errors import RefusedError

NEEDED = ("characteristic", "position", "value", "unit")
_ALSO = frozenset({"person"})
_KNOWN = frozenset(column.name for column in COLUMNS) | _ALSO
_PLACE = ("depth_mm", "direction", "length_mm", "spot")
_NOT_BROUGHT = {"VOID": "a voided value", "derived": "a value worked out from others"}


class BadRow(NamedTuple):
    """A row that was not taken, and why."""

    line: int
    text: str


class Brought(NamedTuple):
    """A row that can be asked for."""

    line: int
    asked: MeasurementAsked


def measurements(rows: list[Row], person: str | None) -> tuple[list[Brought], list[BadRow]]:
    """What the rows ask to be kept, and the bad ones. Raises RefusedError for a wrong header."""
    names = {name for row in rows for name in row.cells if name}
    unknown = sorted(names - _KNOWN)
    if unknown:
        raise RefusedError(
            f"there is no column {unknown[0]!r}; needed are {', '.join(NEEDED)}, and known are "
            + ", ".join(sorted(_KNOWN - set(NEEDED)))
        )
    good: list[Brought] = []
    bad: list[BadRow] = []
    for row in rows:
        try:
            good.append(Brought(row.line, _asked(row.whole(NEEDED), person)))
        except ValidationError as error:
            bad.append(BadRow(row.line, why_not(error)))
        except RefusedError as error:
            bad.append(BadRow(row.line, str(error)))
    return good, bad


def _asked(cells: Mapping[str, str], person: str | None) -> MeasurementAsked:
    for column in ("status", "came"):
        if cells.get(column) in _NOT_BROUGHT:
            raise RefusedError(f"{_NOT_BROUGHT[cells[column]]} is not brought in")
    place = {name: cells[name] for name in _PLACE if name in cells}
    said: dict[str, Any] = {
        "characteristic": cells["characteristic"],
        "position": cells["position"],
        "place": place or None,
        "value": cells["value"],
        "unit": cells["unit"],
        "gauge": cells.get("gauge"),
        "person": cells.get("operator") or cells.get("person") or person,
        "measured_at": cells.get("measured_at"),
        "note": cells.get("note"),
        "came": "sent",
    }
    return MeasurementAsked.model_validate(said)


def why_not(error: ValidationError) -> str:
    """The first fault as a sentence that names the key."""
    first = error.errors(include_url=False, include_context=False, include_input=False)[0]
    where = ".".join(str(part) for part in first["loc"])
    return f"{where}: {first['msg'].removeprefix('Value error, ')}".removeprefix(": ")
