"""The looks of the workbook, each made once, and typed cells."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any

from api.export.columns import Cell
from api.export.words import SHAPES
from daq.head.measurement import Status

# xlsxwriter says nothing of its types.
Workbook = Any
Sheet = Any
Format = Any

MOMENT = "yyyy-mm-dd hh:mm:ss.000"
DAY = "yyyy-mm-dd"
# Excel's calendar begins here; what lies before is written as text.
YEAR_MIN = 1901
# Ink and paper chosen to differ in grey, too.
_PAINT: dict[Status, dict[str, Any]] = {
    Status.PASS: {"font_color": "#1B5E20", "bg_color": "#E6F4E6"},
    Status.FAIL: {"font_color": "#FFFFFF", "bg_color": "#9B1C1C", "bold": True},
    Status.INDETERMINATE: {"font_color": "#5D4300", "bg_color": "#FFE9A8", "bold": True},
    Status.NOT_ANALYZED: {"font_color": "#555555"},
    Status.VOID: {"font_color": "#777777", "font_strikeout": True},
}


class Book:
    """A workbook with its formats."""

    def __init__(self, workbook: Workbook) -> None:
        self.workbook = workbook
        self.head = self.format(bold=True, bottom=1, text_wrap=True, valign="top")
        self.bold = self.format(bold=True)
        self.large = self.format(bold=True, font_size=16)
        self.wrapped = self.format(text_wrap=True, valign="top")
        self.moment = self.format(num_format=MOMENT)
        self.day = self.format(num_format=DAY)
        self._decimals: dict[int, Format] = {}

    def format(self, **properties: Any) -> Format:
        """A format of its own."""
        return self.workbook.add_format(properties)

    def decimals(self, value: Decimal) -> Format:
        """The format that shows `value` with just the digits it has."""
        exponent = value.as_tuple().exponent
        digits = max(0, -exponent) if isinstance(exponent, int) else 0
        if digits not in self._decimals:
            self._decimals[digits] = self.format(
                num_format="0" + ("." + "0" * digits) * (digits > 0)
            )
        return self._decimals[digits]

    def sheet(self, name: str, heads: list[str], widths: list[int]) -> Sheet:
        """A sheet whose first row is a head that stays in sight."""
        sheet = self.workbook.add_worksheet(name)
        for place, width in enumerate(widths):
            sheet.set_column(place, place, width)
        for place, head in enumerate(heads):
            sheet.write_string(0, place, head, self.head)
        sheet.freeze_panes(1, 0)
        sheet.repeat_rows(0)
        sheet.set_landscape()
        sheet.fit_to_pages(1, 0)
        return sheet

    def put(self, sheet: Sheet, row: int, column: int, cell: Cell) -> None:
        """A cell of its own type; text is never taken for a formula, a link or a number."""
        if cell is None:
            return
        if isinstance(cell, bool):
            sheet.write_boolean(row, column, cell)
        elif isinstance(cell, Decimal):
            sheet.write_number(row, column, float(cell), self.decimals(cell))
        elif isinstance(cell, int):
            sheet.write_number(row, column, cell)
        else:
            sheet.write_string(row, column, cell)

    def put_moment(self, sheet: Sheet, row: int, column: int, at: str | None) -> None:
        """A time of the record (UTC)."""
        if at is None:
            return
        moment = datetime.fromisoformat(at).replace(tzinfo=None)
        if moment.year < YEAR_MIN:
            sheet.write_string(row, column, at)
        else:
            sheet.write_datetime(row, column, moment, self.moment)

    def put_day(self, sheet: Sheet, row: int, column: int, day: str | None) -> None:
        """A day."""
        if day is not None:
            sheet.write_datetime(row, column, date.fromisoformat(day), self.day)

    def mark_statuses(self, sheet: Sheet, column: int, last_row: int) -> None:
        """Shape and colour for the status column: a sign before the word, and a paint."""
        for status, shape in SHAPES.items():
            look = self.format(num_format=f'"{shape} "@', **_PAINT[status])
            rule = {"type": "cell", "criteria": "==", "value": f'"{status.value}"', "format": look}
            sheet.conditional_format(1, column, max(1, last_row), column, rule)
