"""The pages for whoever works on the head next: every value, and what stands behind it."""

from collections.abc import Iterable, Mapping
from typing import Any

from api.export.gauges import Key, gauges_of, key_of
from api.export.given import Given
from api.export.series import counts
from api.export.sheet.cards import cards, keys
from api.export.sheet.said import (
    asked_of,
    doubt,
    figure,
    moment,
    number,
    place_said,
    unit_said,
    where,
)
from api.export.words import SHAPES, VERDICT_SHAPES, in_words, name_of, standing
from daq.head.caution import DEFER, cautions_for
from daq.head.characteristic import CATALOGUE
from daq.head.decide import Reason, Verdict
from daq.head.measurement import Came, Measurement, Status
from daq.head.photograph import Photograph
from daq.head.record import EntryKind
from daq.head.shapes import PartShape
from daq.head.view import RecordView

ACCEPT = Verdict.ACCEPT
Marks = Mapping[Key, str]


def machinist(record: RecordView, given: Given) -> dict[str, Any]:
    """Every table and picture behind page one."""
    sources = _sources(record)
    gauges = {
        (g.name, g.serial, g.certificate, g.due): f"G{n}"
        for n, g in enumerate(gauges_of(record), 1)
    }
    pictures = cards(record, given)
    return {
        "positions": _positions(record, sources, gauges),
        "cards": pictures,
        "keys": keys(pictures),
        "changes": _changes(record),
        "sources": [{"mark": mark, "text": text} for text, mark in sources.items()],
        "gauges": _gauges(record),
        "budgets": _budgets(record),
        "cautions": _cautions(record),
        "defer": DEFER,
        "voids": [_void(m) for m in record.measurements if m.status is Status.VOID],
        "overtaken": [_overtaken(m, gauges) for m in record.measurements if m.superseded],
        "left_out": _left_out(record),
        "photographs": [_photograph(each) for each in record.photographs],
        "warnings": _warnings(record),
        "temperatures": [
            f"{moment(note.at)}: part {note.body['part_c']} °C, gauges {note.body['gauge_c']} °C"
            for note in record.notes
            if note.kind is EntryKind.TEMPERATURE
        ],
        "remaining": str(record.remaining),
    }


def _left_out(record: RecordView) -> list[dict[str, str]]:
    """One line a position and reason: a part that is not there leaves out many things at once."""
    found: dict[tuple[str, str, str], list[str]] = {}
    for left in record.left_out:
        why = (left.position, f"{left.because}: {left.reason}", left.person or "")
        what = " ".join((name_of(left.characteristic), place_said(left.place))).strip()
        found.setdefault(why, []).append(what)
    return [
        {"position": position, "what": ", ".join(what), "why": why, "who": who}
        for (position, why, who), what in found.items()
    ]


def _photograph(each: Photograph) -> dict[str, str]:
    shown = where(each.position, each.part or "").strip() if each.position else "the job"
    return {
        "where": shown,
        "note": each.note or "",
        "at": moment(each.at),
        "who": each.person or "",
        "file": each.file_name,
    }


def _overtaken(m: Measurement, gauges: Marks) -> dict[str, str]:
    return {"position": m.position, **_row(m, {}, gauges)}


def _sources(record: RecordView) -> dict[str, str]:
    texts = dict.fromkeys(m.limit_source for m in record.measurements if m.limit_source)
    return {text: _letters(n) for n, text in enumerate(texts)}


def _letters(n: int) -> str:
    """a … z, aa, ab …: no figure beside a figure."""
    more, last = divmod(n, 26)
    return (_letters(more - 1) if more else "") + "abcdefghijklmnopqrstuvwxyz"[last]


def _positions(record: RecordView, sources: dict[str, str], gauges: Marks) -> list[dict[str, Any]]:
    order = {name: place for place, name in enumerate(CATALOGUE)}
    names = dict.fromkeys(
        [*(d.position for d in record.decisions), *(m.position for m in record.measurements)]
    )
    found = []
    for position in names:
        here = [m for m in record.measurements if m.position == position and _is_shown(m)]
        here.sort(key=lambda m: order.get(m.characteristic, len(order)))
        decided = [d for d in record.decisions if d.position == position]
        found.append(
            {
                "position": position,
                "verdicts": [
                    {
                        "part": d.part,
                        "shape": VERDICT_SHAPES[d.decision],
                        "word": d.decision.value,
                        "why": [_reason(r) for r in d.reasons if r.verdict is not ACCEPT],
                    }
                    for d in decided
                ],
                "rows": [_row(m, sources, gauges) for m in here],
                "shapes": [_shape(s) for s in record.shapes if s.position == position],
            }
        )
    return found


def _reason(reason: Reason) -> str:
    text = in_words(reason.text)
    return f"{text} → {in_words(reason.next)}" if reason.next else text


def _shape(shape: PartShape) -> dict[str, str]:
    """What the readings of a part say together, in one line."""
    figures = [
        f"{each.name} {number(each.value)}"
        + ("" if each.uncertainty is None else f" ± {number(each.uncertainty)}")
        + f" {unit_said(each.unit)}"
        for each in shape.figures
    ]
    notes = [in_words(shape.note)] if shape.note else []
    notes += [] if shape.whole else ["not every place is measured"]
    return {"part": shape.part, "text": ", ".join(figures), "note": "; ".join(notes)}


def _is_shown(m: Measurement) -> bool:
    return m.status is not Status.VOID and not m.superseded


def _row(m: Measurement, sources: dict[str, str], gauges: Marks) -> dict[str, str]:
    key = key_of(m)
    return {
        "name": name_of(m.characteristic),
        "place": place_said(m.place) + (f" take {m.take}" if m.take > 1 else ""),
        "value": figure(m),
        "u": doubt(m),
        "unit": unit_said(m.unit),
        "limit": asked_of(m),
        "source": sources.get(m.limit_source or "", ""),
        "shape": SHAPES[m.status],
        "status": standing(m),
        "loud": "yes" if m.status in {Status.FAIL, Status.INDETERMINATE} else "",
        "gauge": _how(m, "" if key is None else gauges[key]),
        "at": moment(m.measured_at),
        "note": "; ".join(each for each in (in_words(m.reason), m.note or "") if each),
    }


def _how(m: Measurement, gauge: str) -> str:
    """The gauge; and that no gauge spoke, where a person or other software gave the number."""
    came = m.came.value if m.came in {Came.KEYED, Came.SENT} else ""
    return " ".join(each for each in (gauge, came) if each)


def _void(m: Measurement) -> dict[str, str]:
    return {
        "what": f"{m.position} {name_of(m.characteristic)}",
        "place": place_said(m.place),
        "value": f"{figure(m)} {unit_said(m.unit)}".strip(),
        "at": moment(m.measured_at),
        "why": m.void_reason or "",
    }


def _changes(record: RecordView) -> list[dict[str, Any]]:
    return [
        {
            "where": where(work.position, work.part),
            "act": work.act,
            "what": "" if work.what == work.act else work.what,
            "at": moment(work.at),
            "person": work.person or "",
            "rows": [
                {
                    "name": name_of(change.characteristic),
                    "position": change.position,
                    "place": place_said(change.place),
                    "before": number(change.before),
                    "after": number(change.after) or "not measured again",
                    "unit": unit_said(change.unit),
                }
                for change in work.changes
            ],
            "again": [in_words(text) for text in work.again],
        }
        for work in record.reworks
    ]


def _gauges(record: RecordView) -> list[dict[str, str]]:
    return [
        {
            "mark": f"G{n}",
            "name": g.name,
            "serial": g.serial or "",
            "certificate": g.certificate or "none noted",
            "due": g.due or "none noted",
            "zero": ", ".join(g.references),
            "values": str(g.values),
        }
        for n, g in enumerate(gauges_of(record), 1)
    ]


def _budgets(record: RecordView) -> list[dict[str, str]]:
    """What each characteristic's uncertainty is made of, as its last value that counts says."""
    found: dict[str, str] = {}
    for m in record.measurements:
        lines = m.detail.get("budget")
        if counts(m) and isinstance(lines, list) and lines:
            found[m.characteristic] = ", ".join(f"{each['name']} {each['u']}" for each in lines)
    return [{"name": name_of(name), "lines": text} for name, text in found.items()]


def _cautions(record: RecordView) -> list[dict[str, str]]:
    """What to mind when the head is put together, and what was minded when it was measured."""
    measured: Iterable[str] = dict.fromkeys(m.characteristic for m in record.measurements)
    assembly = [a.name for a in CATALOGUE.values() if a.part in {"spring", "assembly"}]
    found = dict.fromkeys(c for name in (*assembly, *measured) for c in cautions_for(name))
    return [{"text": caution.text, "source": caution.source} for caution in found]


def _warnings(record: RecordView) -> list[dict[str, str]]:
    found: dict[str, list[str]] = {}
    for m in record.measurements:
        for text in m.warnings:
            found.setdefault(in_words(text), []).append(m.position)
    return [
        {"text": text, "where": ", ".join(dict.fromkeys(places))} for text, places in found.items()
    ]
