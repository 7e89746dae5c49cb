"""CSV (RFC 4180): header, CRLF, UTF-8 without a mark, points in decimals. `csvw` describes it."""

import csv
import io
from collections.abc import Iterable, Iterator
from decimal import Decimal

from api.export.columns import COLUMNS, Cell, cells
from api.export.given import ALONE, Given
from daq.head.measurement import Measurement
from daq.head.view import JobView, RecordView

# A spreadsheet runs a cell that begins like this as a formula.
_FORMULA = frozenset("=+-@\t\r")
_FREE = tuple(place for place, column in enumerate(COLUMNS) if column.free)
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
    for number, (job, m) in enumerate(rows, 1):
        writer.writerow(_texts(cells(job, m)))
        if number % ROWS_A_CHUNK == 0:
            yield buffer.getvalue().encode()
            buffer.seek(0)
            buffer.truncate()
    yield buffer.getvalue().encode()


def _texts(row: tuple[Cell, ...]) -> list[Cell]:
    texts = list(row)
    for place in _FREE:
        text = texts[place]
        if text and str(text)[0] in _FORMULA:
            texts[place] = f"'{text}"
    for place, cell in enumerate(row):
        if cell is True:
            texts[place] = "true"
        elif cell is False:
            texts[place] = "false"
        elif type(cell) is Decimal:
            texts[place] = format(cell, "f")
    return texts
