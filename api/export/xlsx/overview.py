"""The sheets around the table: the job with its decisions, the gauges, what else was written."""

from api.export.columns import Cell
from api.export.figures import figure_id
from api.export.gauges import gauges_of
from api.export.words import VERDICT_SHAPES, in_words
from api.export.xlsx.styles import Book, Sheet
from daq.head.record import canonical_json
from daq.head.view import RecordView

_DECISION_HEADS = [
    "position", "part", "decision", "characteristic", "why", "what next", "lower", "upper",
    "limit_source", "measurement_id",
]  # fmt: skip


def overview(book: Book, record: RecordView) -> None:
    """The job, the verdict, and every decision with its reasons."""
    sheet = book.workbook.add_worksheet("Overview")
    sheet.set_column(0, 0, 14)
    sheet.set_column(1, 3, 16)
    sheet.set_column(4, 5, 60, book.wrapped)
    sheet.set_column(6, 9, 14)
    job = record.job
    verdict = record.verdict
    sheet.write_string(0, 0, f"Job {job.number}", book.large)
    about: list[tuple[str, Cell]] = [
        ("verdict", f"{VERDICT_SHAPES[verdict]} {verdict.value}"),
        ("head", job.head_named),
        ("plan", job.plan),
        ("head serial", job.head_serial),
        ("customer", job.customer),
        ("complaint", job.complaint),
        ("cylinder 1", job.cylinder_one),
        ("bench", job.bench),
        ("operator", job.person),
        ("left to measure", record.remaining),
        ("signed by", job.signed_by),
        ("entries", record.head.entries),
        ("hash", record.head.hash),
        ("job id", job.id),
    ]
    for row, (name, cell) in enumerate(about, 1):
        sheet.write_string(row, 0, name, book.bold)
        book.put(sheet, row, 1, cell)
    times = (("opened", job.opened_at), ("signed", job.signed_at))
    for row, (name, at) in enumerate(times, len(about) + 1):
        sheet.write_string(row, 0, name, book.bold)
        book.put_moment(sheet, row, 1, at)
    _decisions(book, sheet, record, len(about) + len(times) + 2)


def _decisions(book: Book, sheet: Sheet, record: RecordView, first: int) -> None:
    """Every decision, one line a reason, from row `first` on."""
    for place, head in enumerate(_DECISION_HEADS):
        sheet.write_string(first, place, head, book.head)
    row = first
    for decision in record.decisions:
        said = f"{VERDICT_SHAPES[decision.decision]} {decision.decision.value}"
        lines: list[tuple[Cell, ...]] = [
            (
                reason.characteristic,
                in_words(reason.text),
                in_words(reason.next),
                None if reason.limit is None else reason.limit.lower,
                None if reason.limit is None else reason.limit.upper,
                reason.limit_source,
                reason.measurement_id,
            )
            for reason in decision.reasons
        ]
        for line in lines or [()]:
            row += 1
            for place, cell in enumerate((decision.position, decision.part, said, *line)):
                book.put(sheet, row, place, cell)


def gauges(book: Book, record: RecordView) -> None:
    """Every gauge that measured, with its calibration."""
    heads = ["gauge", "gauge_serial", "cal_certificate", "cal_due", "zeroed on", "values"]
    sheet = book.sheet("Gauges", heads, [24, 18, 18, 12, 24, 8])
    for row, gauge in enumerate(gauges_of(record), 1):
        for place, cell in enumerate((gauge.name, gauge.serial, gauge.certificate)):
            book.put(sheet, row, place, cell)
        book.put_day(sheet, row, 3, gauge.due)
        book.put(sheet, row, 4, ", ".join(gauge.references) or None)
        book.put(sheet, row, 5, gauge.values)


def shapes(book: Book, record: RecordView) -> None:
    """Wear, taper, ovality and the like: what the readings of a part say together."""
    heads = [
        "position",
        "part",
        "figure",
        "value",
        "u_k2",
        "unit",
        "whole",
        "note",
        "measurement_id",
    ]
    sheet = book.sheet("Shapes", heads, [10, 10, 20, 12, 12, 10, 8, 60, 38])
    lines = [(shape, figure) for shape in record.shapes for figure in shape.figures]
    for row, (shape, figure) in enumerate(lines, 1):
        cells: tuple[Cell, ...] = (
            shape.position,
            shape.part,
            figure.name,
            figure.value,
            figure.uncertainty,
            figure.unit,
            shape.whole,
            in_words(shape.note) or None,
            figure_id(record.job.id, shape.position, shape.part, figure.name),
        )
        for place, cell in enumerate(cells):
            book.put(sheet, row, place, cell)


def remarks(book: Book, record: RecordView) -> None:
    """What else was written into the record: rework, temperatures, zeros, broken captures."""
    sheet = book.sheet("Remarks", ["at", "what", "id", "content"], [24, 24, 38, 100])
    for row, note in enumerate(record.notes, 1):
        book.put_moment(sheet, row, 0, note.at)
        book.put(sheet, row, 1, note.kind.value)
        book.put(sheet, row, 2, note.id)
        book.put(sheet, row, 3, canonical_json(note.body))
