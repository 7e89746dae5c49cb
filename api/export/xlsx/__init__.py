"""XLSX: the record as a workbook, every cell typed, and nothing in it that computes.

The same record gives the same bytes: the date inside the file is the record's own.
"""

import io
from collections.abc import Iterator
from datetime import datetime

from api.export.given import ALONE, Given
from api.export.xlsx.figures import figures
from api.export.xlsx.overview import gauges, overview, remarks, shapes
from api.export.xlsx.styles import Book
from api.export.xlsx.table import table
from daq.head.view import RecordView

# Above this many rows xlsxwriter keeps one row in memory instead of all of them.
ROWS_IN_MEMORY_MAX = 20_000
CHUNK_BYTES = 64 * 1024


def write(record: RecordView, given: Given = ALONE) -> Iterator[bytes]:
    """The workbook: overview, measurements, figures with charts, gauges, remarks."""
    from xlsxwriter import Workbook  # type: ignore[import-untyped]

    buffer = io.BytesIO()
    is_large = len(record.measurements) > ROWS_IN_MEMORY_MAX
    options = {"constant_memory": True} if is_large else {"in_memory": True}
    with Workbook(buffer, options) as workbook:
        workbook.set_properties(
            {
                "title": f"Inspection record of job {record.job.number}",
                "author": record.job.bench or "",
                "comments": f"head of the record: {record.head.hash}",
                "created": _moment(record.job.opened_at),
            }
        )
        book = Book(workbook)
        overview(book, record)
        table(book, record, given.told)
        figures(book, record)
        shapes(book, record)
        gauges(book, record)
        remarks(book, record)
    whole = buffer.getbuffer()
    for start in range(0, len(whole), CHUNK_BYTES):
        yield bytes(whole[start : start + CHUNK_BYTES])


def _moment(at: str) -> datetime:
    # Excel knows no zones; all times of a record are UTC.
    return datetime.fromisoformat(at).replace(tzinfo=None)
