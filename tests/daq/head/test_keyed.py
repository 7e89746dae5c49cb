"""Keyed values: worth what their tool is worth, asked about when they are far from likely."""

from decimal import Decimal

import pytest

from daq.head.errors import QuestionError, RefusedError
from daq.head.instrument import Instrument
from daq.head.layout import Layout
from daq.head.likely import question
from daq.head.measurement import Came, Status
from daq.head.plan import Place, Plan, Target
from daq.head.step import Step
from daq.head.tools import kinds, usual_tool
from tests.generators.books import Book
from tests.generators.desk import Desk

WHOLE = "four-by-two-whole"
STEM = "valve.stem_diameter"


def named(name):
    return Instrument(name, serial="", resolution_mm=0.0)


def place(depth="12", direction="along"):
    return Place(depth_mm=Decimal(depth), direction=direction)


@pytest.fixture
def desk():
    return Desk(plan=WHOLE)


def test_a_caliper_is_worth_less_than_its_display(desk):
    job = desk.open()
    m = desk.key(job, "valve.margin", "1I", "1.30", gauge=named("caliper"))
    # one step of 0.02 and an error limit of 0.03, both rectangular, k = 2
    assert float(m.uncertainty) == pytest.approx(2 * ((0.02**2 + 0.03**2) / 3) ** 0.5, abs=0.001)
    assert (m.came, m.status, m.gauge) == (Came.KEYED, Status.PASS, "caliper")
    assert m.detail["tool"] == {
        "kind": "caliper",
        "source": "ISO 13385-1, from memory",
        "assumed": False,
    }
    assert "guide value, not the maker's" in m.limit_source


def test_a_tool_that_nobody_named_is_the_usual_one(desk):
    job = desk.open()
    m = desk.key(job, "seat.width", "1I", "1.4")
    assert m.detail["tool"]["kind"] == "loupe"
    assert m.detail["tool"]["assumed"] is True
    assert float(m.uncertainty) > 0.1


def test_a_tool_of_the_bench_counts_with_its_own_figures(desk):
    job = desk.open()
    fine = Instrument("loupe 2", "L-2", 0.01, 0.005, kind="loupe")
    m = desk.key(job, "seat.width", "1I", "1.40", gauge=fine)
    assert float(m.uncertainty) < 0.02
    assert m.gauge_serial == "L-2"


def test_a_tool_known_by_name_alone_is_worth_no_more_than_one_that_nobody_named(desk):
    job = desk.open()
    unnamed = desk.key(job, "valve.margin", "1I", "1.30")
    m = desk.key(job, "valve.margin", "1E", "1.30", gauge=named("something of mine"))
    assert (m.uncertainty, m.gauge) == (unnamed.uncertainty, "something of mine")
    assert (m.detail["tool"]["kind"], m.detail["tool"]["assumed"]) == ("caliper", True)


def test_a_tool_of_another_unit_is_refused(desk):
    job = desk.open()
    with pytest.raises(RefusedError, match="a spring tester gives N"):
        desk.key(job, "valve.margin", "1I", "1.3", gauge=named("spring tester"))


def test_every_captured_length_and_load_has_a_usual_tool():
    from daq.head.characteristic import CATALOGUE

    lacking = [
        name
        for name, about in CATALOGUE.items()
        if about.capture not in {None, "look"} and usual_tool(name) is None
    ]
    assert lacking == []
    assert all(tool.source for tool in kinds().values())


def test_a_load_is_keyed_in_pounds_at_its_length(desk):
    job = desk.open()
    at = Place(length_mm=Decimal("38.0"))
    m = desk.key(job, "spring.load", "1I", "58.0", at, unit="lbf")
    assert float(m.value) == pytest.approx(58.0 * 4.4482216, abs=0.01)
    assert (m.unit, m.status) == ("N", Status.PASS)
    assert m.place == at
    with pytest.raises(RefusedError, match=r"needs a 'place'; the plan asks for at 38\.0 mm"):
        desk.key(job, "spring.load", "1I", "58.0", unit="lbf")


def test_a_look_is_yes_or_no(desk):
    job = desk.open()
    assert desk.key(job, "valve.look", "1I", 1, unit="1").status is Status.PASS
    assert desk.key(job, "valve.look", "1E", 0, unit="1").status is Status.FAIL
    with pytest.raises(RefusedError, match="1 for yes, 0 for no"):
        desk.key(job, "valve.look", "2I", "0.5", unit="1")


def test_a_loss_of_pressure_becomes_a_leak(desk):
    """Q = V dp/dt: 0.4 mbar/s from 0.25 l are 0.1 mbar·l/s."""
    job = desk.open()
    m = desk.key(job, "seat.leak", "1I", "0.40", unit="mbar/s")
    assert (float(m.value), m.unit, m.status) == (pytest.approx(0.1), "mbar.l/s", Status.PASS)
    assert desk.key(job, "seat.leak", "1E", "2.0", unit="mbar/s").status is Status.FAIL


@pytest.fixture(scope="module")
def bare():
    """A plan that says nothing of what its values may be."""
    names = ("valve.margin", "valve.stem_runout", "seat.width", "valve.recess")
    return Book(
        Plan(
            name="bare",
            title="invented",
            source="invented",
            head=Layout(cylinders=1),
            steps=tuple(Step(characteristic=name) for name in names),
        )
    ).record


@pytest.mark.parametrize(
    ("name", "value_mm"),
    [
        ("valve.margin", 33.0),  # 1.3 in inches, meant in mm
        ("valve.margin", 0.051),  # an inch figure taken for mm
        ("valve.stem_runout", 30.0),  # µm for mm
        ("seat.width", 16.0),  # a lost decimal point
        ("valve.recess", 22.9),
        ("valve.recess", -22.9),
    ],
)
def test_a_value_no_part_can_have_is_asked_about(bare, name, value_mm):
    said = question(bare, Target(name, "1I", None), value_mm)
    assert "where all published limits for it lie: is this really 1I, and in mm?" in said


@pytest.mark.parametrize(
    ("name", "value_mm"),
    [
        ("valve.margin", 0.10),
        ("valve.stem_runout", 1.2),
        ("valve.stem_runout", 0.0),
        ("seat.width", 4.5),
        ("valve.recess", -3.3),
    ],
)
def test_a_bad_part_is_not_asked_about(bare, name, value_mm):
    assert question(bare, Target(name, "1I", None), value_mm) == ""


def test_a_value_outside_the_plan_is_asked_about_and_kept_when_confirmed(desk):
    job = desk.open()
    with pytest.raises(QuestionError, match="is this really 1I, and in mm"):
        desk.key(job, STEM, "1I", "0.2745", place())
    m = desk.key(job, STEM, "1I", "7.62", place(), confirmed=True)
    assert "somebody said that it is right" in m.warnings[0]


def test_a_stem_that_does_not_fit_its_neighbours_is_asked_about(desk):
    job = desk.open()
    for position in ("1E", "2E", "4E"):
        for depth in ("12", "30"):
            desk.key(job, STEM, position, "6.955", place(depth))
    with pytest.raises(QuestionError, match=r"far from the 6\.955 mm of its 3 neighbours"):
        desk.key(job, STEM, "3E", "6.66", place())
    # Worn is not another valve, and the intake side has its own stems.
    assert desk.key(job, STEM, "3E", "6.90", place()).complete
    assert desk.key(job, STEM, "3I", "6.66", place()).complete


def test_a_load_that_does_not_fit_its_neighbours_is_asked_about_at_its_own_length(desk):
    job = desk.open()
    closed, opened = (Place(length_mm=Decimal(each)) for each in ("38.0", "29.0"))
    for position in ("1I", "2I", "3I"):
        desk.key(job, "spring.load", position, 255, closed, unit="N")
    with pytest.raises(QuestionError, match="is this really 4I, and in N"):
        desk.key(job, "spring.load", "4I", 58, closed, unit="N")
    desk.key(job, "spring.load", "4I", 515, opened, unit="N")


def test_a_fault_is_not_taken_for_another_part(desk):
    job = desk.open()
    for position in ("1I", "2I", "3I"):
        desk.key(job, "valve.stem_runout", position, "0.01")
        desk.key(job, "valve.recess", position, "1.00")
    assert desk.key(job, "valve.stem_runout", "4I", "0.20").status is Status.FAIL
    assert desk.key(job, "valve.recess", "4I", "1.90").status is Status.FAIL


@pytest.mark.parametrize(
    ("held_s", "complete", "why"),
    [
        (None, False, "nobody said for how long"),
        ("60", False, "watched for 60 s"),
        ("300", True, ""),
    ],
)
def test_a_timed_look_counts_when_it_was_watched_long_enough(held_s, complete, why):
    from daq.head.plan import Plan

    steps = [{"characteristic": "seat.leak_fluid"}]
    plan = Plan.model_validate(
        {
            "name": "fluid",
            "title": "t",
            "source": "invented",
            "head": {"cylinders": 1},
            "steps": steps,
        }
    )
    desk = Desk(plan=plan)
    job = desk.open()
    held = None if held_s is None else Decimal(held_s)
    m = desk.key(job, "seat.leak_fluid", "1I", 1, unit="1", held_s=held)
    assert m.complete is complete
    assert why in m.reason
    assert m.status is (Status.PASS if complete else Status.INDETERMINATE)
    leaking = desk.key(job, "seat.leak_fluid", "1E", 0, unit="1", held_s=Decimal(5))
    assert leaking.status is Status.FAIL
