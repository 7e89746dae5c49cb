"""docs/characteristics.md says what the catalogue says: a row for each, none too many."""

import re
from pathlib import Path

import pytest

from daq.head.caution import cautions_for
from daq.head.characteristic import CATALOGUE
from daq.head.guide_values import Known, guide_value
from daq.head.place import Place
from daq.head.plan import Target, shipped_plans

DOC = (Path(__file__).parents[2] / "docs/characteristics.md").read_text()
ROWS = {
    cells[1].strip("` "): [cell.strip() for cell in cells]
    for line in DOC.splitlines()
    if line.startswith("| ") and "`" in line
    for cells in [line.strip("| ").split(" | ")]
}


def capture_of(about):
    if about.capture is None:
        return "worked out"
    zeros = ", two zeros" if about.zeros else ""
    return f"{about.capture}{zeros}"


def limit_source_of(about):
    """The maker's, and whether there is a guide value for want of it."""
    if about.limit == "yes":
        return "yes or no"
    if about.limit == "none" or not about.needs_limit:
        return "none of its own"
    from decimal import Decimal

    known = Known(
        "I" if about.part != "head" else "head",
        stem_mm=Decimal(7),
        nominal=Decimal(50),
        free_length_mm=Decimal(50),
        height="open",
    )
    if guide_value(about.name, known, "wear") is not None:
        return "maker's, else guide value"
    return "shop's own" if about.name == "seat.leak" else "maker's only"


def test_every_characteristic_has_a_row_in_the_order_of_the_catalogue():
    assert set(ROWS) == set(CATALOGUE)


@pytest.mark.parametrize("name", CATALOGUE)
def test_a_row_says_what_the_code_does(name):
    about = CATALOGUE[name]
    stage, _, capture, gauge, zeroing, limit, cautions = ROWS[name]
    assert stage == about.stage
    assert capture == capture_of(about)
    assert gauge == about.gauge
    assert zeroing == (about.zeroing if about.zeroing != "none" else "–")
    assert limit == limit_source_of(about)
    numbers = re.findall(r"\[(\d+)\]", cautions)
    listed = dict(re.findall(r"^(\d+)\. (.+)$", DOC, re.MULTILINE))
    said = {f"{caution.said} ({caution.source})" for caution in cautions_for(name)}
    assert {listed[number] for number in numbers} == said


def test_the_whole_plan_asks_for_every_characteristic_of_the_job():
    """All but the two that stand in for another test of the same pair."""
    plan = shipped_plans()["four-by-two-whole"]
    asked = {step.characteristic for step in plan.steps}
    assert set(CATALOGUE) - asked == {"guide.rocking", "seat.leak_fluid"}


def test_places_are_written_as_the_document_says():
    plan = shipped_plans()["four-by-two-whole"]
    target = Target("spring.load", "1I", Place(length_mm=plan.step("spring.load").at[0].length_mm))
    assert target in plan.order
    assert '`{"length_mm": "38.0"}`' in DOC
