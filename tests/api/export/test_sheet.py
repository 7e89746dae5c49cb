"""The sheet as a reader of PDF sees it: every value printed, nothing printed better than it is."""

import math
import re
from collections import Counter
from dataclasses import replace

import pypdfium2
import pytest
from hypothesis import given, settings
from pypdf import PdfReader

from api.export import ALONE, WRITERS, Given
from api.export.sheet.letters import BOX
from api.export.units import in_length_unit
from daq.capture.trace import Trace
from daq.head.characteristic import CATALOGUE
from daq.head.decide import Verdict
from daq.head.layout import Layout
from daq.head.measurement import Came, Status
from daq.head.verdict import verdict_of
from daq.head.view import record_view
from drivers.reading import Reading, Unit
from tests.api.export.readers import pdf_attachment, pdf_pages, workbook
from tests.api.export.test_every_quantity import MANY
from tests.generators.a_made_record import made, made_record
from tests.generators.a_record import records

INCHES = Given(paper="us-letter", length="in")


def sheet(view, wishes=ALONE) -> bytes:
    return b"".join(WRITERS["pdf"].write(view, wishes))


def printed(value) -> str:
    return format(value, "f").replace("-", "−")


def row_of(m) -> str:
    """A row as it has to be printed: the value with its uncertainty, unit and limit."""
    about = CATALOGUE[m.characteristic]
    if m.value is None:
        size = "nothing seen"
    elif about.capture == "look":
        size = "yes" if m.value == 1 else "no"
    elif m.characteristic == "valve.recess":
        size = f"{printed(abs(m.value))} {'proud' if m.value < 0 else 'deep'}"
    else:
        size = printed(m.value)
    is_sure = about.capture == "look" and m.uncertainty == 0
    u = "" if m.uncertainty is None or is_sure else f"± {printed(m.uncertainty)}"
    unit = {"[in_i]": "in", "1": ""}.get(m.unit, m.unit)
    limit = ""
    if m.limits is not None:
        lower, upper = m.limits.lower, m.limits.upper
        both = lower is not None and upper is not None
        limit = f"{printed(lower)} to {printed(upper)}" if both else ""
        limit = limit or (f"≤ {printed(upper)}" if lower is None else f"≥ {printed(lower)}")
    if about.capture == "look" and m.limits and m.limits.lower == 1 and m.limits.upper is None:
        limit = "yes"
    return " ".join(part for part in (size, u, unit, limit) if part)


def shown(view):
    return [m for m in view.measurements if m.status is not Status.VOID and not m.superseded]


def counted(text: str, piece: str) -> int:
    return len(re.findall(rf"(?<![\d.−]){re.escape(piece)}(?![\d.])", text))


@pytest.mark.parametrize("wishes", [ALONE, INCHES], ids=["A4 mm", "Letter in"])
@settings(parent=MANY, max_examples=12)
@given(view=records())
def test_every_value_is_printed(wishes, view):
    text = " ".join(pdf_pages(sheet(view, wishes)))
    at = in_length_unit(view, wishes.length)
    marks, sources = gauge_marks(view), source_marks(view)
    for position in {m.position for m in view.measurements}:
        asked = Counter(
            whole_row_of(m, marks, sources) for m in shown(at) if m.position == position
        )
        here = rows_under(position, text, view)
        for row, times in asked.items():
            assert len(re.findall(row, here)) == times, (position, row)
    for m in at.measurements:
        if m.status is Status.VOID:
            value = "" if m.value is None else re.escape(printed(abs(m.value)))
            name = re.escape(f"{m.position} {m.characteristic.replace('.', ' ').replace('_', ' ')}")
            assert re.search(rf"{name} .*{value}.*⊘ {re.escape(m.void_reason)}", text), name
    for (name, serial, certificate, due), mark in marks.items():
        cells = (mark, name, serial or "", certificate or "none noted", due or "none noted")
        # Where no font has a letter, a box stands for it.
        letters = " ".join(filter(None, cells))
        assert re.search("".join(re.escape(x) if x.isascii() else "." for x in letters), text)


SAID = {
    Status.PASS: "✓ proven in", Status.FAIL: "✗ proven out", Status.INDETERMINATE: "? not proven",
    Status.NOT_ANALYZED: "· no limit",
}  # fmt: skip


def whole_row_of(m, marks, sources) -> str:
    """A pattern of all that its row has to say: what, where, how much, within what, by what."""
    where = "" if m.place is None else f"{printed(m.place.depth_mm)} mm {m.place.direction}"
    take = f"take {m.take}" if m.take > 1 else ""
    said = SAID[m.status] + ("" if m.complete else ", incomplete")
    key = (m.gauge, m.gauge_serial, m.certificate, m.calibration_due)
    words = [m.characteristic.replace(".", " ").replace("_", " "), where, take, row_of(m)]
    begin = " ".join(re.escape(word) for word in words if word)
    source = rf"\[{sources[m.limit_source]}\] " if m.limit_source else ""
    end = " ".join(filter(None, (said, marks.get(key, ""))))
    return rf"(?<!\S){begin} {source}{re.escape(end)}(?!\S| ?G\d)"


def gauge_marks(view) -> dict:
    """G1, G2 … in the order in which they measured first."""
    keys = dict.fromkeys(
        (m.gauge, m.gauge_serial, m.certificate, m.calibration_due)
        for m in view.measurements
        if m.gauge is not None
    )
    return {key: f"G{n}" for n, key in enumerate(keys, 1)}


def source_marks(view) -> dict:
    """a, b, c … in the order in which a limit was said first; a record here has fewer than 26."""
    said = dict.fromkeys(m.limit_source for m in view.measurements if m.limit_source)
    return dict(zip(said, "abcdefghijklmnopqrstuvwxyz", strict=False))


def rows_under(position: str, text: str, view) -> str:
    """What stands in the tables of that position."""
    any_ = "|".join(re.escape(each) for each in {m.position for m in view.measurements})
    pieces = re.split(rf"(?<!\S)({any_}) value ± U limit status gauge ", text)
    return " ".join(
        after for name, after in zip(pieces[1::2], pieces[2::2], strict=True) if name == position
    )


@settings(parent=MANY, max_examples=25)
@given(view=records())
def test_nothing_is_printed_better_than_it_is(view):
    pages = pdf_pages(sheet(view))
    values = shown(view)
    behind = " ".join(pages[1:])
    good = sum(m.status is Status.PASS and m.complete for m in values)
    overtaken = sum(m.status is Status.PASS and m.superseded for m in view.measurements)
    # Once in the key, once for each that is proven, and in its own table what rework overtook.
    assert behind.count("✓ proven in") == 1 + good + overtaken
    is_good = verdict_of(view.decisions) is Verdict.ACCEPT
    assert ("Ready to assemble" in pages[0]) == is_good
    assert ("Not ready" in pages[0]) != is_good
    accepted = [d for d in view.decisions if d.decision is Verdict.ACCEPT]
    assert behind.count(": accept") == len(accepted)


def test_shapes_are_printed_and_stand_in_the_workbook():
    view = made_record()
    assert view.shapes
    text = " ".join(pdf_pages(sheet(view)))
    rows = [
        [cell.value for cell in row]
        for row in workbook(b"".join(WRITERS["xlsx"].write(view, ALONE)))["Shapes"].iter_rows()
    ]
    for shape in view.shapes:
        for figure in shape.figures:
            doubt = "" if figure.uncertainty is None else f" ± {printed(figure.uncertainty)}"
            assert f"{figure.name} {printed(figure.value)}{doubt} {figure.unit}" in text
            assert [shape.position, shape.part, figure.name, float(figure.value)] in [
                row[:4] for row in rows
            ]


def test_the_attached_qif_is_the_one_that_is_exported():
    view = made_record()
    assert pdf_attachment(sheet(view)) == b"".join(WRITERS["qif"].write(view, ALONE))


def test_it_says_that_it_is_pdf_a_3b():
    metadata = PdfReader(_file(sheet(made_record()))).xmp_metadata
    assert (metadata.pdfaid_part, metadata.pdfaid_conformance) == ("3", "B")


def _file(data: bytes):
    import io

    return io.BytesIO(data)


@pytest.mark.parametrize("wishes", [ALONE, INCHES], ids=["A4", "Letter"])
def test_the_paper_is_the_one_asked_for(wishes):
    size = pypdfium2.PdfDocument(sheet(made_record(), wishes))[0].get_size()
    expected = (595.3, 841.9) if wishes is ALONE else (612.0, 792.0)
    assert size == pytest.approx(expected, abs=0.1)


@pytest.mark.parametrize("paper", ["a4", "us-letter"])
def test_sixty_valves_and_long_names_keep_page_one_whole_and_lose_nothing(paper):
    view = record_view(
        made(Layout(cylinders=12, intake=3, exhaust=2), positions_measured=60).record
    )
    name = "Donaudampfschifffahrtsgesellschaftskapitänsmützenfabrikantenwitwe" * 2
    view = view.model_copy(
        update={"job": view.job.model_copy(update={"customer": name, "complaint": "knocks " * 60})}
    )
    pages = pdf_pages(sheet(view, replace(ALONE, paper=paper)))
    assert name in pages[0].replace(" ", "")
    assert "Signature" in pages[0]
    assert "Every position" in pages[1]
    text = " ".join(pages)
    for m in shown(view):
        assert counted(text, row_of(m)), row_of(m)
    _nothing_runs_off(sheet(view, replace(ALONE, paper=paper)))


@pytest.mark.parametrize("wishes", [ALONE, INCHES], ids=["A4", "Letter"])
@pytest.mark.parametrize("cylinders", [1, 8])
@pytest.mark.parametrize("lines", [0, 8])
def test_page_one_stays_one_page_however_long_the_words_are(lines, cylinders, wishes):
    view = record_view(made(Layout(cylinders=cylinders, intake=2, exhaust=2)).record)
    rework = next(d for d in view.decisions if d.decision is Verdict.REWORK)
    said = rework.reasons[0].model_copy(update={"measurement_id": None, "text": "long words " * 30})
    others = [
        d.model_copy(update={"decision": (Verdict.NOT_MEASURED, Verdict.ACCEPT)[n % 2]})
        for n, d in enumerate(view.decisions)
    ]
    open_ = [rework.model_copy(update={"reasons": (said,), "position": "1Ea"})] * lines
    work = view.reworks[0].model_copy(update={"what": "long words " * 30})
    job = {"complaint": "knocks " * 60, "customer": "W" * 200, "number": "NUMBER-" * 12}
    view = view.model_copy(
        update={
            "decisions": (*others, *open_),
            "reworks": (work,) * lines,
            "job": view.job.model_copy(update={**job, "plan_title": "long title " * 12}),
        }
    )
    pages = pdf_pages(sheet(view, wishes))
    assert "Signature" in pages[0]
    assert pages[1].startswith("Every position")


def test_page_one_says_what_was_found_beside_what_is_allowed_in_the_unit_asked_for():
    view = made_record()
    for wishes in (ALONE, INCHES):
        shown_ = in_length_unit(view, wishes.length)
        page = pdf_pages(sheet(view, wishes))[0]
        (m,) = [
            m for m in shown(shown_) if m.status is Status.FAIL and "clearance" in m.characteristic
        ]
        unit = "in" if wishes is INCHES else "mm"
        said = f"{printed(m.value)} {unit}, allowed at most {printed(m.limits.upper)}"
        assert f"Rework {m.position} guide guide clearance max {said}" in page


def test_the_map_of_the_head_shows_each_valve_with_the_worst_of_its_parts():
    view = made_record()
    page = pdf_pages(sheet(view))[0]
    signs = {
        Verdict.ACCEPT: "✓ good", Verdict.REWORK: "↻ rework", Verdict.REPLACE: "✗ replace",
        Verdict.UNSURE: "? measure again", Verdict.NOT_MEASURED: "○ measure",
    }  # fmt: skip
    for position in {d.position for d in view.decisions}:
        worst = verdict_of([d for d in view.decisions if d.position == position])
        assert f"{position}{signs[worst]}".replace(" ", "") in page.replace(" ", "")
    unmeasured = [d for d in view.decisions if d.decision is Verdict.NOT_MEASURED]
    listed = ", ".join(f"{d.position} {d.part}" for d in unmeasured)
    assert f"Still to measure: {listed}." in page


def test_page_one_stays_one_page_however_much_was_done():
    """All lists full, on the smaller paper."""
    view = made_record()
    work = view.reworks[0]
    works = [
        work.model_copy(update={"act": act, "what": "long words " * 9, "position": "1E"})
        for act in ("replaced", "reamed")
        for _ in range(30)
    ]
    verdicts = list(Verdict)
    open_ = [
        d.model_copy(update={"decision": verdicts[n % 4 + 1], "position": f"{n % 12 + 1}Ia"})
        for n, d in enumerate(view.decisions * 4)
    ]
    view = view.model_copy(update={"reworks": tuple(works), "decisions": tuple(open_)})
    pages = pdf_pages(sheet(view, INCHES))
    assert "Signature" in pages[0]
    assert "more, on the pages behind" in pages[0]
    assert pages[1].startswith("Every position")


def test_a_marked_turn_is_drawn_round_and_an_unmarked_one_unrolled():
    view = made_record()
    for marks, said in ((True, "one turn between index marks"), (False, "the whole trace")):
        sine = [round(math.sin(t / 30), 3) for t in range(600)]
        trace = Trace.of(
            [
                Reading("g", "", t / 100, value, Unit.MM, mark=marks and t % 188 == 4)
                for t, value in enumerate(sine)
            ]
        )
        m = next(m for m in shown(view) if m.characteristic == "valve.stem_runout")
        drawn = m.model_copy(
            update={"trace_sha256": trace.sha256, "detail": {"harmonics": {} if marks else None}}
        )
        one = view.model_copy(update={"measurements": (drawn,)})
        at_hand = Given(trace={trace.sha256: trace.pack()}.get)
        assert said in " ".join(pdf_pages(sheet(one, at_hand)))
        assert said not in " ".join(pdf_pages(sheet(one)))


def _nothing_runs_off(data: bytes):
    """No letter beyond the margins, on any page."""
    document = pypdfium2.PdfDocument(data)
    for page in document:
        width, height = page.get_size()
        text = page.get_textpage()
        for number in range(text.count_rects()):
            left, bottom, right, top = text.get_rect(number)
            assert 20 < left <= right < width - 20, text.get_text_bounded(left, bottom, right, top)
            assert 10 < bottom <= top < height - 20


def test_only_letters_that_no_font_has_become_boxes_and_the_sheet_says_so():
    view = made_record()
    named = view.job.model_copy(update={"customer": "Ελένη Вероника \U0010fffd"})
    text = " ".join(pdf_pages(sheet(view.model_copy(update={"job": named}))))
    assert f"Ελένη Вероника {BOX}" in text
    assert "1 letters of this record have no shape" in text


def test_markup_in_a_name_is_a_name():
    view = made_record()
    name = "#panic() *bold* $x$ @ref <label> \\ `raw` [a] {b}"
    named = view.job.model_copy(update={"customer": name})
    assert name in pdf_pages(sheet(view.model_copy(update={"job": named})))[0]


def test_a_keyed_and_a_sent_value_are_marked_beside_their_gauge():
    view = made_record()
    first, *rest = view.measurements
    sent = first.model_copy(update={"came": Came.SENT})
    text = " ".join(pdf_pages(sheet(view.model_copy(update={"measurements": (sent, *rest)}))))
    shown_keyed = [m for m in rest if m.came is Came.KEYED and m in shown(view)]
    assert len(re.findall(r"\bG\d+ keyed\b", text)) >= len([m for m in shown_keyed if m.gauge]) > 5
    assert len(re.findall(r"\bG\d+ sent\b", text)) == 1


def test_what_was_before_stands_before_what_came_after():
    view = made_record()
    text = " ".join(pdf_pages(sheet(view)))
    (change,) = [c for work in view.reworks for c in work.changes if c.after is not None]
    name = change.characteristic.replace(".", " ").replace("_", " ")
    row = f"{change.position} {name} {printed(change.before)} {printed(change.after)} {change.unit}"
    assert row in text
