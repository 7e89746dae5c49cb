"""Every part has its own verdict in every format that says one; unsure is never good."""

import re
from collections import Counter

import pytest
from hypothesis import given, settings
from lxml import etree

from api.export import ALONE, WRITERS
from api.export.readme import readme
from api.export.sheet.content import content
from daq.head.decide import Verdict
from daq.head.measurement import Status
from tests.api.export.readers import Q, pdf_pages, workbook
from tests.api.export.test_every_quantity import MANY
from tests.generators.a_made_record import made_record
from tests.generators.a_record import records

SIGNS = {
    Verdict.ACCEPT: "✓", Verdict.REWORK: "↻", Verdict.REPLACE: "✗", Verdict.UNSURE: "?",
    Verdict.NOT_MEASURED: "○",
}  # fmt: skip
IN_QIF = {
    Verdict.ACCEPT: "PASS", Verdict.REWORK: "REWORK", Verdict.REPLACE: "FAIL",
    Verdict.UNSURE: "UNKNOWN", Verdict.NOT_MEASURED: "NOT_MEASURED",
}  # fmt: skip
COUNTED = {
    Verdict.ACCEPT: "good", Verdict.REWORK: "to rework", Verdict.REPLACE: "to replace",
    Verdict.UNSURE: "not proven either way", Verdict.NOT_MEASURED: "not fully measured",
}  # fmt: skip
SEEN = {Verdict.ACCEPT: "good", Verdict.REWORK: "bad", Verdict.REPLACE: "bad"}


def written(name, view) -> bytes:
    return b"".join(WRITERS[name].write(view, ALONE))


@settings(parent=MANY, max_examples=20)
@given(view=records(most=6))
def test_the_workbook_gives_each_part_its_verdict_and_its_reasons(view):
    sheet = workbook(written("xlsx", view))["Overview"]
    rows = [[cell.value for cell in row] for row in sheet.iter_rows()]
    said = f"{SIGNS[view.verdict]} {view.verdict.value}"
    assert ["verdict", said] in [row[:2] for row in rows]
    start = next(n for n, row in enumerate(rows) if row[:3] == ["position", "part", "decision"])
    names = rows[start]
    found = [dict(zip(names, row, strict=True)) for row in rows[start + 1 :]]
    expected = []
    for d in view.decisions:
        about = {
            "position": d.position, "part": str(d.part),
            "decision": f"{SIGNS[d.decision]} {d.decision.value}",
        }  # fmt: skip
        for r in d.reasons or [None]:
            ends = r and r.limit
            expected.append(
                about
                | {
                    "characteristic": r and r.characteristic,
                    "lower": (ends and ends.lower is not None and float(ends.lower)) or None,
                    "upper": (ends and ends.upper is not None and float(ends.upper)) or None,
                    "measurement_id": r and r.measurement_id,
                }
            )
    for row, wanted in zip(found, expected, strict=True):
        assert {key: row[key] or None for key in wanted} == wanted


@settings(parent=MANY, max_examples=20)
@given(view=records(most=6))
def test_the_workbook_names_every_gauge_with_its_calibration(view):
    rows = [[cell.value for cell in row] for row in workbook(written("xlsx", view))["Gauges"]]
    used = Counter(
        (m.gauge, m.gauge_serial, m.certificate, m.calibration_due)
        for m in view.measurements
        if m.gauge is not None
    )
    found = {
        (*row[:3], row[3] and row[3].date().isoformat()): row[5] for row in rows[1:]
    }  # the fourth is a day, the sixth how many values
    assert found == used


@settings(parent=MANY, max_examples=30)
@given(view=records(most=6))
def test_qif_gives_each_part_its_verdict(view):
    root = etree.fromstring(written("qif", view))
    head, *parts = root.iter(f"{Q}ActualComponent")
    found = {
        tuple(each.findtext(f"{Q}SerialNumber").rsplit("/", 2)[1:]): each.findtext(
            f"{Q}Status/{Q}InspectionStatusEnum"
        )
        for each in parts
    }
    assert len(found) == len(parts)
    assert head.findtext(f"{Q}Status/{Q}InspectionStatusEnum") == IN_QIF[view.verdict]
    decided = {(d.position, str(d.part)): IN_QIF[d.decision] for d in view.decisions}
    assert {part: found.get(part) for part in decided} == decided
    assert all(found[part] == "UNKNOWN" for part in found.keys() - decided.keys())
    whole = root.findtext(f".//{Q}MeasurementResults/{Q}InspectionStatus/{Q}InspectionStatusEnum")
    assert whole == IN_QIF[view.verdict]


@settings(parent=MANY, max_examples=15)
@given(view=records(most=6))
def test_the_sheet_gives_each_part_its_verdict_and_counts_them(view):
    pages = pdf_pages(written("pdf", view))
    behind = " ".join(pages[1:])
    said = Counter(f"{SIGNS[d.decision]} {d.part}: {d.decision.value}" for d in view.decisions)
    for line, times in said.items():
        assert behind.count(line) == times, line
    counts = Counter(d.decision for d in view.decisions)
    for verdict, word in COUNTED.items():
        line = f"{SIGNS[verdict]} {counts[verdict]} {word}"
        assert (line in pages[0]) == (counts[verdict] > 0), line
    said_there = content(view, ALONE)["customer"]
    assert said_there["good"] == (view.verdict is Verdict.ACCEPT)
    for valve in (each for column in said_there["map"] for each in column["valves"]):
        here = [d.decision for d in view.decisions if d.position == valve["position"]]
        is_good = all(each is Verdict.ACCEPT for each in here)
        assert (valve["look"] == "good") == (valve["word"] == "good") == is_good
        assert valve["look"] in {SEEN.get(each, "open") for each in here}


@pytest.mark.parametrize("verdict", Verdict)
def test_the_readme_of_a_bundle_says_the_verdict(verdict):
    text = readme(made_record().model_copy(update={"verdict": verdict}), has_parquet=True)
    assert f"Verdict: {SIGNS[verdict]} {verdict.value};" in text
    assert ("accept" in text) == (verdict is Verdict.ACCEPT)


@pytest.mark.parametrize("name", ["csv", "parquet", "xlsx", "json", "qif", "pdf"])
def test_no_format_says_pass_more_often_than_the_record(name):
    """Made all unsure: the word that means proven stands nowhere but in a key."""
    view = made_record()
    unsure = view.model_copy(
        update={
            "measurements": tuple(
                m.model_copy(update={"status": Status.INDETERMINATE}) for m in view.measurements
            ),
            "decisions": tuple(
                d.model_copy(update={"decision": Verdict.UNSURE}) for d in view.decisions
            ),
            "verdict": Verdict.UNSURE,
            "entries": (),
        }
    )
    data = written(name, unsure)
    if name in {"csv", "json", "qif"}:
        assert not re.search(r"\bPASS\b", data.decode())
    elif name == "pdf":
        text = " ".join(pdf_pages(data))
        assert (text.count("proven in"), text.count("accept")) == (1, 0)
        assert "Ready to assemble" not in text
    else:
        from tests.api.export.readers import READERS

        atoms = READERS[name].atoms(data)
        assert atoms
        assert not [a for a in atoms.values() if re.search(r"\bPASS\b|accept", a)]


@pytest.mark.parametrize("verdict", Verdict)
def test_only_a_head_that_is_accepted_is_called_ready(verdict):
    said = content(made_record().model_copy(update={"verdict": verdict}), ALONE)["customer"]
    is_good = verdict is Verdict.ACCEPT
    assert (said["loud"] == "Ready to assemble") == said["good"] == is_good
    assert said["loud"].startswith("Not ready") != is_good
    assert said["shape"] == SIGNS[verdict]
