"""The sheet the charts are drawn from, and the charts: bores and runouts over the positions.

Every take that counts is shown; none is chosen.
"""

from typing import Any

from api.export.series import Figure, figures_of
from api.export.words import name_of
from api.export.xlsx.styles import Book, Sheet
from daq.head.view import RecordView

SHEET = "Figures"
_CHART_ROWS = 20
_CHART_COLUMN = 12


def figures(book: Book, record: RecordView) -> None:
    """One block of cells and one chart for each characteristic that is drawn."""
    found = figures_of(record)
    if not found:
        return
    sheet = book.workbook.add_worksheet(SHEET)
    sheet.set_column(0, 0, 12)
    top = 0
    for figure in found:
        _block(book, sheet, figure, top)
        sheet.insert_chart(
            top, max(_CHART_COLUMN, len(figure.series) + 2), _chart(book, figure, top)
        )
        top += max(_CHART_ROWS, len(figure.positions) + 3)


def _block(book: Book, sheet: Sheet, figure: Figure, top: int) -> None:
    sheet.write_string(top, 0, f"{figure.characteristic}, {figure.unit}", book.bold)
    sheet.write_string(top + 1, 0, "position", book.head)
    for column, series in enumerate(figure.series, 1):
        sheet.write_string(top + 1, column, series.name, book.head)
    for row, position in enumerate(figure.positions):
        sheet.write_string(top + 2 + row, 0, position)
        for column, series in enumerate(figure.series, 1):
            book.put(sheet, top + 2 + row, column, series.values[row])


def _chart(book: Book, figure: Figure, top: int) -> Any:
    chart = book.workbook.add_chart({"type": "line"})
    first, last = top + 2, top + 1 + len(figure.positions)
    for column, series in enumerate(figure.series, 1):
        line = (
            {"color": "#000000", "dash_type": "dash", "width": 1.5}
            if series.is_limit
            else {"none": True}
        )
        chart.add_series(
            {
                "name": [SHEET, top + 1, column],
                "categories": [SHEET, first, 0, last, 0],
                "values": [SHEET, first, column, last, column],
                "line": line,
                "marker": {"type": "none"}
                if series.is_limit
                else {"type": _MARKERS[column % len(_MARKERS)], "size": 7},
            }
        )
    chart.set_title({"name": name_of(figure.characteristic), "name_font": {"size": 12}})
    chart.set_y_axis({"name": figure.unit, "major_gridlines": {"visible": True}})
    chart.set_x_axis({"name": "position"})
    chart.set_size({"width": 760, "height": 360})
    chart.show_blanks_as("gap")
    return chart


_MARKERS = ("circle", "square", "diamond", "triangle", "x", "plus")
