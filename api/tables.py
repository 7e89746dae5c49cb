"""Tables for people, on stdout."""

from collections.abc import Sequence

from rich.console import Console
from rich.table import Column, Table

from api.evaluate import Evaluated
from daq.head.decide import Decision, Verdict
from daq.head.view import RecordView
from drivers.find import Plugged

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
        "position", *parts, "why", title=f"Job {record.job.number}: {record.job.plan_title}"
    )
    for position in positions:
        row = [found[position, part] for part in parts]
        table.add_row(position, *(_coloured(each) for each in row), _why(row))
    Console().print(table)


def _coloured(decision: Decision) -> str:
    style = _STYLES[decision.decision]
    return f"[{style}]{decision.decision.value}[/{style}]"


def _why(row: Sequence[Decision]) -> str:
    return "\n".join(
        reason.text
        for each in row
        if each.decision is not Verdict.ACCEPT
        for reason in each.reasons
    )
