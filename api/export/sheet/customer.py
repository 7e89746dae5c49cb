"""Page one: what a customer has to know, in ten seconds."""

from collections.abc import Mapping
from typing import Any

from api.export.sheet.said import allowed, figure, is_look, moment, unit_said, where
from api.export.words import VERDICT_SHAPES, in_words, name_of
from daq.head.before_after import ReworkShown
from daq.head.decide import Decision, Reason, Verdict
from daq.head.layout import HEAD
from daq.head.measurement import Measurement, Status
from daq.head.verdict import verdict_of
from daq.head.view import RecordView

# What page one holds and can still be read; the rest, and every text that is cut here, stands
# whole on the pages behind.
OPEN_WORK_MOST, DONE_MOST = 8, 5
UNMEASURED_MOST = 10
CHARS_MOST, COMPLAINT_CHARS_MOST = 120, 300
_NEW = ("replaced", "renewed")
_LOUD = {
    Verdict.ACCEPT: "Ready to assemble",
    Verdict.REWORK: "Not ready: work to do",
    Verdict.REPLACE: "Not ready: parts to replace",
    Verdict.UNSURE: "Not ready: not proven",
    Verdict.NOT_MEASURED: "Not ready: not fully measured",
}
_COUNTED = {
    Verdict.REPLACE: "to replace",
    Verdict.REWORK: "to rework",
    Verdict.NOT_MEASURED: "not fully measured",
    Verdict.UNSURE: "not proven either way",
    Verdict.ACCEPT: "good",
}
_DO = {
    Verdict.REPLACE: "Replace",
    Verdict.REWORK: "Rework",
    Verdict.NOT_MEASURED: "Measure",
    Verdict.UNSURE: "Measure again",
}
# How a valve looks on the map: seen across a room, before anything is read.
_LOOKS = {Verdict.ACCEPT: "good", Verdict.REPLACE: "bad", Verdict.REWORK: "bad"}


def customer(record: RecordView) -> dict[str, Any]:
    """Verdict, map of the head, what is to do, what was done and replaced, signature."""
    job = record.job
    unmeasured = [d for d in record.decisions if d.decision is Verdict.NOT_MEASURED]
    open_ = _worst_first(record.decisions)
    found = {m.id: m for m in record.measurements}
    open_work = [_open_work(d, found) for d in open_]
    done = [_done(work) for work in record.reworks]
    renewed = [each for each in done if each["new"]]
    others = [each for each in done if not each["new"]]
    return {
        "loud": _LOUD[record.verdict],
        "shape": VERDICT_SHAPES[record.verdict],
        "good": record.verdict is Verdict.ACCEPT,
        "counts": _counts(record),
        "facts": [
            [name, text]
            for name, text in (
                ("Customer", job.customer),
                ("Head", job.head_named),
                ("Serial", job.head_serial),
                ("Complaint", _short(job.complaint or "", COMPLAINT_CHARS_MOST)),
                ("Received", moment(job.opened_at)[:10]),
                ("Measured by", ", ".join(part for part in (job.person, job.bench) if part)),
            )
            if text
        ],
        "map": _map(record),
        "cylinder_one": job.cylinder_one or "not said",
        "open_work": open_work[:OPEN_WORK_MOST],
        "open_work_more": max(0, len(open_work) - OPEN_WORK_MOST),
        "unmeasured": [where(d.position, d.part) for d in unmeasured[:UNMEASURED_MOST]],
        "unmeasured_more": max(0, len(unmeasured) - UNMEASURED_MOST),
        "replaced": renewed[:DONE_MOST],
        "replaced_more": max(0, len(renewed) - DONE_MOST),
        "done": others[:DONE_MOST],
        "done_more": max(0, len(others) - DONE_MOST),
        "signed_by": job.signed_by or "",
        "signed_at": moment(job.signed_at),
        "guide_values": any(
            (m.limit_source or "").startswith("guide value") for m in record.measurements
        ),
    }


def _done(work: ReworkShown) -> dict[str, Any]:
    said = work.act if work.what in {"", work.act} else f"{work.act}: {work.what}"
    return {
        "where": where(work.position, work.part),
        "what": _short(said),
        "at": moment(work.at)[:10],
        "new": any(word in work.act for word in _NEW),
    }


def _counts(record: RecordView) -> list[dict[str, str]]:
    found = [
        (verdict, sum(d.decision is verdict for d in record.decisions)) for verdict in _COUNTED
    ]
    return [
        {"shape": VERDICT_SHAPES[verdict], "count": str(count), "word": _COUNTED[verdict]}
        for verdict, count in found
        if count
    ]


def _worst_first(decisions: tuple[Decision, ...]) -> list[Decision]:
    order = list(_DO)
    said_apart = {Verdict.ACCEPT, Verdict.NOT_MEASURED}
    open_ = [d for d in decisions if d.decision not in said_apart]
    return sorted(open_, key=lambda d: order.index(d.decision))


def _open_work(decision: Decision, found: Mapping[str, Measurement]) -> dict[str, str]:
    telling = [r for r in decision.reasons if r.verdict is decision.decision] or decision.reasons
    reason = telling[0] if telling else None
    return {
        "where": where(decision.position, decision.part),
        "shape": VERDICT_SHAPES[decision.decision],
        "do": _DO[decision.decision],
        "why": _short(_why(reason, found.get(reason.measurement_id or ""))) if reason else "",
    }


def _why(reason: Reason, m: Measurement | None) -> str:
    """What was found beside what is allowed; the whole sentence where nothing is proven."""
    if m is None or m.status is not Status.FAIL or m.limits is None or is_look(m):
        return in_words(reason.text)
    size = " ".join((name_of(m.characteristic), figure(m), unit_said(m.unit)))
    return f"{size}, allowed {allowed(m.limits)}"


def _short(text: str, most: int = CHARS_MOST) -> str:
    return text if len(text) <= most else text[:most].rstrip() + " …"


def _map(record: RecordView) -> list[dict[str, Any]]:
    """The head from above: one column a cylinder, each valve with the worst of its parts."""
    columns: dict[str, list[dict[str, str]]] = {}
    for position in dict.fromkeys(d.position for d in record.decisions):
        if position == HEAD:
            continue
        here = verdict_of([d for d in record.decisions if d.position == position])
        cylinder = position.rstrip("IEabc")
        columns.setdefault(cylinder, []).append(
            {
                "position": position,
                "side": "I" if "I" in position else "E",
                "shape": VERDICT_SHAPES[here],
                "look": _LOOKS.get(here, "open"),
                "word": _DO[here].lower() if here in _DO else "good",
            }
        )
    return [{"cylinder": name, "valves": valves} for name, valves in columns.items()]
