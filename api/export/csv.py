"""CSV (RFC 4180): header, CRLF, UTF-8 without a mark, points in decimals. `csvw` describes it."""

import csv
from collections.abc import Iterator
from decimal import Decimal

from api.export.columns import COLUMNS, Cell, Column, Row
from daq.head.view import RecordView

# A spreadsheet runs a cell that begins like this as a formula.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


class _Line:
    """Where the csv module writes to: keeps the one row it was given."""

    def __init__(self) -> None:
        self.text = ""

    def write(self, text: str) -> None:
        self.text = text


def write(record: RecordView) -> Iterator[bytes]:
    """One row a measurement, in the record's order."""
    line = _Line()
    rows = csv.writer(line, lineterminator="\r\n")
    rows.writerow([column.name for column in COLUMNS])
    yield line.text.encode()
    for m in record.measurements:
        rows.writerow([_text(column, column.of(Row(record.job, m))) for column in COLUMNS])
        yield line.text.encode()


def _text(column: Column, cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, Decimal):
        return format(cell, "f")
    text = str(cell)
    return f"'{text}" if column.free and text.startswith(_FORMULA) else text
