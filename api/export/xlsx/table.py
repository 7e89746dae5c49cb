"""The sheet of all measurements: the columns of the CSV, as typed cells."""

from api.export.columns import COLUMNS, cells
from api.export.telling import Told, telling
from api.export.xlsx.styles import Book
from daq.head.view import RecordView

SHEET = "Measurements"
_WIDTHS = {"string": 18, "decimal": 10, "boolean": 10, "integer": 7, "dateTime": 22, "date": 12}
_STATUS = next(place for place, column in enumerate(COLUMNS) if column.name == "status")


def table(book: Book, record: RecordView, told: Told | None = None) -> None:
    """One row a measurement; limits are cells, status has shape and colour."""
    heads = [column.name for column in COLUMNS]
    sheet = book.sheet(SHEET, heads, [_WIDTHS[column.datatype] for column in COLUMNS])
    sheet.freeze_panes(1, 1)
    row = 0
    for row, m in enumerate(telling(record.measurements, told), 1):
        for place, (column, cell) in enumerate(zip(COLUMNS, cells(record.job, m), strict=True)):
            if column.datatype == "dateTime":
                book.put_moment(sheet, row, place, None if cell is None else str(cell))
            elif column.datatype == "date":
                book.put_day(sheet, row, place, None if cell is None else str(cell))
            else:
                book.put(sheet, row, place, cell)
    book.mark_statuses(sheet, _STATUS, row)
    sheet.autofilter(0, 0, row, len(COLUMNS) - 1)
