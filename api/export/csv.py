"""CSV (RFC 4180): header, CRLF, UTF-8 without a mark, points in decimals. `csvw` describes it."""

import csv
import io
from collections.abc import Iterable, Iterator
from decimal import Decimal
from itertools import islice

from api.export.columns import COLUMNS, Cell, cells
from api.export.given import ALONE, Given
from daq.head.measurement import Measurement
from daq.head.view import JobView, RecordView

# A spreadsheet runs a cell that begins like this as a formula.
_FORMULA = frozenset("=+-@\t\r")
_FREE = tuple(place for place, column in enumerate(COLUMNS) if column.free)
_DECIMALS = tuple(n for n, column in enumerate(COLUMNS) if column.datatype == "decimal")
_BOOLEANS = tuple(n for n, column in enumerate(COLUMNS) if column.datatype == "boolean")
# Rows handed on at once: big enough that handing on costs nothing, small enough for any memory.
ROWS_A_CHUNK = 512


def write(record: RecordView, given: Given = ALONE) -> Iterator[bytes]:
    """One row a measurement, in the record's order."""
    del given
    return write_rows((record.job, m) for m in record.measurements)


def write_rows(rows: Iterable[tuple[JobView, Measurement]]) -> Iterator[bytes]:
    """A table of any length, in chunks; one chunk is in memory at a time."""
    buffer = io.StringIO(newline="")
    writer = csv.writer(buffer, lineterminator="\r\n")
    writer.writerow([column.name for column in COLUMNS])
    lines = (_texts(cells(job, m)) for job, m in rows)
    while True:
        writer.writerows(islice(lines, ROWS_A_CHUNK))
        text = buffer.getvalue()
        if not text:
            return
        yield text.encode()
        buffer.seek(0)
        buffer.truncate()


def _texts(row: tuple[Cell, ...]) -> list[Cell]:
    """The row as text where csv would write it otherwise; the rest is text already."""
    texts = list(row)
    for place in _DECIMALS:
        cell = texts[place]
        if cell is not None:
            text = str(cell)
            texts[place] = format(Decimal(text), "f") if "E" in text else text
    for place in _BOOLEANS:
        texts[place] = "true" if texts[place] else "false"
    for place in _FREE:
        cell = texts[place]
        if cell and str(cell)[0] in _FORMULA:
            texts[place] = f"'{cell}"
    return texts
