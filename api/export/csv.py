"""CSV (RFC 4180): header, CRLF, UTF-8 without a mark, points in decimals. `csvw` describes it.

Only what people wrote can need quotes, and it repeats from row to row: it is quoted once and
remembered, which makes a row cost no more than the values in it.
"""

from collections.abc import Iterable, Iterator
from decimal import Decimal
from functools import lru_cache
from itertools import islice

from api.export.columns import COLUMNS, OF_MEASUREMENT, Cell, job_cells, measurement_cells
from api.export.figures import with_figures
from api.export.given import ALONE, Given
from api.export.telling import telling
from daq.head.measurement import Measurement
from daq.head.view import JobView, RecordView

# A spreadsheet runs a cell that begins like this as a formula.
_FORMULA = frozenset("=+-@\t\r")
_QUOTED = frozenset(',"\r\n')
_END = "\r\n"
_FREE = tuple(place for place, column in enumerate(OF_MEASUREMENT) if column.free)
_DECIMALS = tuple(n for n, column in enumerate(OF_MEASUREMENT) if column.datatype == "decimal")
_BOOLEANS = tuple(n for n, column in enumerate(OF_MEASUREMENT) if column.datatype == "boolean")
# Rows handed on at once: big enough that handing on costs nothing, small enough for any memory.
ROWS_A_CHUNK = 512
# Gauges, people and sources of limits of many jobs; remarks come and go.
WORDS_REMEMBERED = 1024


def write(record: RecordView, given: Given = ALONE) -> Iterator[bytes]:
    """One row a measurement, in the record's order; behind them the figures of the parts."""
    rows = telling(with_figures(record).measurements, given.told)
    return write_rows((record.job, m) for m in rows)


def write_rows(rows: Iterable[tuple[JobView, Measurement]]) -> Iterator[bytes]:
    """A table of any length, in chunks; one chunk is in memory at a time."""
    yield (",".join(column.name for column in COLUMNS) + _END).encode()
    lines = _lines(rows)
    while chunk := "".join(islice(lines, ROWS_A_CHUNK)):
        yield chunk.encode()


def _lines(rows: Iterable[tuple[JobView, Measurement]]) -> Iterator[str]:
    last: JobView | None = None
    of_job = ""
    for job, m in rows:
        if job is not last:
            last = job
            of_job = ",".join(_word(cell) if cell else "" for cell in map(_text, job_cells(job)))
        yield f"{m.id},{of_job},{','.join(_texts(measurement_cells(m)))}{_END}"


def _texts(row: tuple[Cell, ...]) -> list[str]:
    texts = ["" if cell is None else cell if type(cell) is str else str(cell) for cell in row]
    for place in _DECIMALS:
        if "E" in texts[place]:
            texts[place] = format(Decimal(texts[place]), "f")
    for place in _BOOLEANS:
        texts[place] = "true" if row[place] else "false"
    for place in _FREE:
        if texts[place]:
            texts[place] = _word(texts[place])
    return texts


def _text(cell: Cell) -> str:
    return "" if cell is None else str(cell)


@lru_cache(WORDS_REMEMBERED)
def _word(text: str) -> str:
    """What somebody wrote, defused, and in quotes where it needs them."""
    defused = f"'{text}" if text[0] in _FORMULA else text
    if _QUOTED.isdisjoint(defused):
        return defused
    doubled = defused.replace('"', '""')
    return f'"{doubled}"'
