"""Tables for people, on stdout."""

from collections.abc import Sequence

from rich.console import Console
from rich.table import Column, Table

from api.evaluate import Evaluated
from api.export.words import in_words
from daq.head.decide import Decision, Verdict
from daq.head.view import RecordView
from daq.head.work_list import WorkList
from drivers.find import Plugged

REASONS_SHOWN = 2
_STYLES = {
    Verdict.ACCEPT: "green",
    Verdict.REWORK: "yellow",
    Verdict.REPLACE: "red",
    Verdict.UNSURE: "magenta",
    Verdict.NOT_MEASURED: "dim",
}


def evaluated_table(answers: Sequence[Evaluated]) -> None:
    """One row a recording."""
    table = Table(
        Column("file", overflow="fold"), "value", "± (k = 2)", "unit", "complete", "remark"
    )
    for each in answers:
        remark = each.detail["reason"] or "; ".join(each.detail["warnings"])
        table.add_row(
            each.file,
            "—" if each.value is None else f"{each.value:.5f}",
            "—" if each.uncertainty is None else f"{each.uncertainty:.5f}",
            each.unit,
            "yes" if each.complete else "no",
            remark,
        )
    Console().print(table)


def ports_table(found: Sequence[Plugged]) -> None:
    """One row a port."""
    table = Table("port", "name that follows the adapter", "what it says of itself")
    for port in found:
        table.add_row(port.device, port.usb or "—", port.about or "—")
    Console().print(table)


def decisions_table(record: RecordView) -> None:
    """Positions × parts, each with its decision, and why where it is not accept."""
    parts = list(dict.fromkeys(each.part for each in record.decisions))
    positions = list(dict.fromkeys(each.position for each in record.decisions))
    found = {(each.position, each.part): each for each in record.decisions}
    table = Table(
        "position", *parts, "why", title=f"Job {record.job.number}: {record.job.head_named}"
    )
    for position in positions:
        # The head has no guides, and a valve's position no head face.
        row = [found.get((position, part)) for part in parts]
        table.add_row(position, *(_coloured(each) for each in row), _why(row))
    Console().print(table)


def work_table(work: WorkList) -> None:
    """The list of work in the order of the trade; then the notes."""
    table = Table("step", "position", "part", "what to do", "why", title="The list of work")
    for item in work.items:
        what = f"to settle: {item.text}" if item.kind == "settle" else item.text
        table.add_row(item.stage, item.position, item.part, in_words(what), _first_of(item.reasons))
    console = Console()
    console.print(table)
    for note in (*work.notes, *([work.offer] if work.offer else [])):
        console.print(f"Note: {in_words(note)}")


def _coloured(decision: Decision | None) -> str:
    if decision is None:
        return ""
    style = _STYLES[decision.decision]
    return f"[{style}]{decision.decision.value}[/{style}]"


def _why(row: Sequence[Decision | None]) -> str:
    return "\n".join(
        _first_of([reason.text for reason in each.reasons])
        for each in row
        if each is not None and each.decision is not Verdict.ACCEPT
    )


def _first_of(reasons: Sequence[str]) -> str:
    """A few reasons; the record has them all."""
    more = len(reasons) - REASONS_SHOWN
    shown = map(in_words, reasons[:REASONS_SHOWN])
    return "\n".join((*shown, *([f"and {more} more"] if more > 0 else [])))
