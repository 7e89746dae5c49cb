"""A table as rows of text by their header, from CSV or from the first sheet of a workbook."""

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from itertools import islice
from typing import Any, NamedTuple

from daq.head.errors import RefusedError

ROWS_MAX = 2000
COLUMNS_MAX = 100
CELL_CHARS_MAX = 2000
# The signs that an export puts an apostrophe before, so that no spreadsheet runs them.
_FORMULA = frozenset("=+-@\t\r")
_EMPTY_LINES_MAX = 1000
# The name of cells that have no column.
_BEYOND = ""
# What stands between cells: where numbers have a comma, spreadsheets write semicolons.
_BETWEEN = ",;\t"
# A first line that says nothing but that.
_SAID_BETWEEN = "sep="
# As many as a spreadsheet shows; what a float has behind them, nobody wrote.
_FLOAT_DIGITS = 15


class Row(NamedTuple):
    """One row. line: in the file, from 1. cells: what is not empty, by column name."""

    line: int
    cells: dict[str, str]

    def whole(self, needed: Sequence[str] = ("characteristic",)) -> Mapping[str, str]:
        """Its cells. Raises RefusedError where a needed one is missing, or there are more cells
        than columns: then a comma in a number has moved them, and none can be trusted."""
        if _BEYOND in self.cells:
            raise RefusedError(
                "more cells than columns: is a comma in a number, or in a text without quotes?"
            )
        lacking = [name for name in needed if name not in self.cells]
        if lacking:
            raise RefusedError(f"{' and '.join(lacking)} missing")
        return self.cells


def from_csv(text: str) -> list[Row]:
    """The rows of a CSV with a header, whatever its cells are divided by. Raises RefusedError for
    what is none."""
    lines = io.StringIO(text.removeprefix("\ufeff"), newline="")
    heads = [line for line in islice(lines, 2) if not line.startswith(_SAID_BETWEEN)]
    between = max(_BETWEEN, key="".join(heads[:1]).count)
    lines.seek(0)
    reader = csv.reader(lines, delimiter=between, strict=True)
    try:
        return _rows(
            (reader.line_num, row)
            for row in reader
            if reader.line_num > 1 or not row or not row[0].startswith(_SAID_BETWEEN)
        )
    except csv.Error as error:
        raise RefusedError(f"line {reader.line_num}: this is not CSV: {error}") from None


def from_xlsx(data: bytes) -> list[Row]:
    """The rows of a workbook's first sheet. Raises RefusedError for what is none."""
    try:
        from openpyxl import load_workbook  # type: ignore[import-untyped]
    except ImportError:
        raise RefusedError(
            "a workbook needs openpyxl, which is not installed here; save it as CSV"
        ) from None
    try:
        values, formulas = (
            load_workbook(io.BytesIO(data), read_only=True, data_only=only).worksheets[0]
            for only in (True, False)
        )
        rows = zip(
            values.iter_rows(values_only=True), formulas.iter_rows(values_only=True), strict=True
        )
        return _rows(
            (line, [_text(cell, of) for cell, of in zip(*pair, strict=True)])
            for line, pair in enumerate(rows, 1)
        )
    except RefusedError:
        raise
    except Exception as error:  # noqa: BLE001 - the library raises whatever a broken zip makes it
        raise RefusedError(f"this is no workbook that can be read: {error}") from None


def _text(cell: Any, formula: Any) -> str:
    """A cell as it would stand in a CSV; a number with the digits it has."""
    if cell is None:
        # A program that writes formulas without working them out leaves nothing to be read.
        return "" if formula is None else f"no result of {formula}"
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, float):
        return format(Decimal(format(cell, f".{_FLOAT_DIGITS}g")), "f")
    if isinstance(cell, datetime | date):
        return cell.isoformat()
    return str(cell)


def _rows(lines: Iterator[tuple[int, Sequence[str]]]) -> list[Row]:
    header: list[str] = []
    found: list[Row] = []
    empty = 0
    for line, cells in lines:
        if not any(cell.strip() for cell in cells):
            empty += 1
            if empty > _EMPTY_LINES_MAX:
                break
            continue
        if not header:
            header = _header(cells)
            continue
        if len(found) == ROWS_MAX:
            raise RefusedError(f"more than {ROWS_MAX} rows; bring them in pieces")
        found.append(Row(line, _cells(line, header, cells)))
    if not header:
        raise RefusedError("the table is empty; its first line has to name the columns")
    return found


def _header(cells: Sequence[str]) -> list[str]:
    names = [cell.strip().lower() for cell in cells]
    twice = {name for name in names if name and names.count(name) > 1}
    if twice or len(names) > COLUMNS_MAX:
        wrong = f"{min(twice)!r} stands twice" if twice else "there are too many"
        raise RefusedError(f"line 1 has to name each column once: {wrong}")
    return names


def _cells(line: int, header: Sequence[str], cells: Sequence[str]) -> dict[str, str]:
    long = next((cell for cell in cells if len(cell) > CELL_CHARS_MAX), None)
    if long is not None:
        raise RefusedError(f"line {line}: a cell has {len(long)} letters; that is no table")
    pairs = zip(header, cells, strict=False)
    found = {name: _undone(cell.strip()) for name, cell in pairs if name and cell.strip()}
    if any(cell.strip() for cell in cells[len(header) :]):
        found[_BEYOND] = "beyond"
    return found


def _undone(cell: str) -> str:
    return cell[1:] if cell.startswith("'") and cell[1:2] in _FORMULA else cell
