"""Nothing that is missing or in doubt ever makes a part good."""

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from daq.head.characteristic import CATALOGUE
from daq.head.clearance import clearances
from daq.head.decide import decisions
from daq.head.kept import measurement_of
from daq.head.measurement import Status
from daq.head.plan import shipped_plans
from daq.head.record import Record
from daq.head.view import record_view
from tests.generators.books import Book
from tests.generators.healthy import GOOD, healthy

PLAN = shipped_plans()["four-by-two-whole"]
# One cylinder is enough: positions are judged alone, and the head with them.
PLAN = PLAN.model_copy(update={"head": PLAN.head.model_copy(update={"cylinders": 1})})
MEASURED = sorted(name for name in GOOD if not name.startswith("head."))
# Around a limit, far out, and impossible, for everything that has a number.
VALUES = {
    "guide.diameter": ("6.985", "7.010", "7.040", "7.070", "7.072", "7.110", "7.200"),
    "valve.stem_diameter": ("6.860", "6.905", "6.920", "6.950", "6.970", "7.001"),
    "valve.stem_runout": ("0.000", "0.029", "0.030", "0.031", "0.045"),
    "valve.face_runout": ("0.000", "0.049", "0.051", "0.150"),
    "valve.margin": ("0.30", "0.72", "0.76", "0.86", "1.20"),
    "valve.length": ("104.10", "104.25", "104.26", "104.50"),
    "valve.recess": ("-0.20", "0.60", "0.61", "1.35", "1.40", "1.41", "1.60"),
    "seat.runout": ("0.000", "0.049", "0.051", "0.120"),
    "seat.width": ("0.60", "1.00", "1.50", "2.10", "2.90"),
    "guide.protrusion": ("11.50", "11.70", "12.00", "12.30"),
    "spring.free_length": ("45.00", "45.60", "46.90"),
    "spring.squareness": ("0.50", "1.60", "1.70", "2.40"),
    "spring.load": ("200", "245", "250", "460", "470", "515"),
    "spring.bow": ("0.30", "1.50", "1.60"),
    "spring.fitted_height": ("37.00", "37.50", "38.00", "38.50", "38.60", "39.90"),
    "spring.coil_gap": ("0.30", "0.95", "1.10", "1.60", "2.00"),
    "seat.leak": ("0.010", "0.190", "0.210", "0.900"),
}


@st.composite
def heads(draw):
    """A head of two valves in which a few values, at single places, are something else."""
    values = {row[:3]: row[3] for row in healthy(PLAN)}
    for _ in range(draw(st.integers(0, 4))):
        target = draw(st.sampled_from([t for t in PLAN.targets if t.characteristic in VALUES]))
        values[tuple(target)] = draw(st.sampled_from(VALUES[target.characteristic]))
    for _ in range(draw(st.integers(0, 1))):
        target = draw(st.sampled_from([t for t in PLAN.targets if GOOD[t.characteristic] == "1"]))
        values[tuple(target)] = "0"
    return [(*target, value) for target, value in values.items()]


def part_of(entry):
    return entry.body["position"], CATALOGUE[entry.body["characteristic"]].part


def accepted(view):
    return {(d.position, d.part) for d in view.decisions if d.decision.value == "accept"}


@settings(deadline=None, max_examples=25)
@given(heads(), st.data())
def test_removing_any_one_measurement_never_makes_a_part_accepted(head, data):
    book = Book(PLAN)
    book.key_all(head)
    whole = accepted(book.view)
    opening, *kept = book.entries
    # A dozen drawn ones, and all those of one position where a value was changed.
    drawn = data.draw(st.sets(st.sampled_from(range(len(kept))), min_size=1, max_size=12))
    for gone in drawn:
        rest = Record((opening, *(entry for n, entry in enumerate(kept) if n != gone)))
        now = accepted(record_view(rest))
        assert now <= whole, kept[gone].body
        about = part_of(kept[gone])
        assert about not in now


@settings(deadline=None, max_examples=15)
@given(heads(), st.data())
def test_voiding_never_makes_a_part_accepted_until_it_is_measured_again(head, data):
    book = Book(PLAN)
    book.key_all(head)
    opened = Record(tuple(book.entries[:1]))
    again = data.draw(
        st.lists(
            st.sampled_from([t for t in PLAN.targets if t.characteristic in VALUES]), max_size=3
        )
    )
    for target in again:
        value = data.draw(st.sampled_from(VALUES[target.characteristic]))
        book.key(target.characteristic, target.position, value, target.place, ask=opened)
    whole = accepted(book.view)
    entry = data.draw(st.sampled_from(book.entries[1:]))
    book.void(entry)
    now = accepted(book.view)
    if entry.body["status"] != "PASS":
        assert now <= whole
    about = part_of(entry)
    assert entry.body["status"] == "PASS" or about not in now


def test_without_any_single_characteristic_its_part_is_not_measured(plan):
    names = {name: PLAN.step(name).about.part for name in MEASURED}
    for name, part in names.items():
        book = Book(PLAN)
        book.key_all(row for row in healthy(PLAN) if row[0] != name)
        decided = {(d.position, d.part): d.decision.value for d in book.view.decisions}
        positions = PLAN.head.positions
        owners = {(position, part) for position in positions}
        if name == "guide.diameter":
            owners |= {(position, "valve") for position in positions}
        if name == "valve.stem_diameter":
            owners |= {(position, "guide") for position in positions}
        assert {k for k, v in decided.items() if v == "not measured"} == owners, name
        assert {v for k, v in decided.items() if k not in owners} == {"accept"}, name


@pytest.mark.parametrize("name", MEASURED)
def test_an_incomplete_value_alone_never_passes(name, plan):
    position = "1E"
    book = Book(PLAN)
    book.key_all(healthy(PLAN))
    part = PLAN.step(name).about.part
    # The same standing measurements, this one marked as not complete.
    standing = [measurement_of(entry) for entry in book.record.standing]
    partial = [
        m.model_copy(
            update={
                "complete": False,
                "status": Status.NOT_ANALYZED
                if m.status is Status.NOT_ANALYZED
                else Status.INDETERMINATE,
            }
        )
        if (m.characteristic, m.position) == (name, position)
        else m
        for m in standing
    ]
    derived = [c for p in PLAN.head.positions for c in clearances(PLAN, p, partial)]
    decided = {(d.position, d.part): d for d in decisions(PLAN, (*partial, *derived))}
    assert decided[position, part].decision.value in {"unsure", "not measured"}
    assert all(each.next for each in decided[position, part].reasons)


def test_no_recess_is_judged_without_the_makers_figure(plan):
    for change in ({"limit": None, "limit_new": None}, {"kind": "guide"}, {"kind": "shop"}):
        step = plan.step("valve.recess")
        if "kind" in change:
            limit = step.limit.model_copy(update=change)
            step = step.model_copy(update={"limit": limit, "limit_new": None})
        else:
            step = step.model_copy(update=change)
        steps = tuple(step if s.characteristic == "valve.recess" else s for s in plan.steps)
        for value in ("0.90", "1.60"):
            book = Book(plan.model_copy(update={"steps": steps}))
            book.key_all(healthy(plan, {("valve.recess", "3E"): value}))
            decision = book.decision("3E", "valve")
            assert decision.decision.value == "unsure"
            assert decision.reasons[0].next == "enter the engine maker's figure"
            assert "deep" in decision.reasons[0].text


def test_no_order_of_measuring_changes_a_decision():
    values = healthy(PLAN, {("guide.diameter", "1E"): "7.110", ("seat.runout", "1I"): "0.120"})
    found = set()
    for order in (values, values[::-1], sorted(values, key=lambda row: row[3])):
        book = Book(PLAN)
        book.key_all(order)
        found.add(tuple((d.position, d.part, d.decision.value) for d in book.view.decisions))
    assert len(found) == 1


def test_changes_are_independent_of_each_other():
    pairs = itertools.combinations(
        [("valve.stem_runout", "0.045"), ("seat.runout", "0.120"), ("spring.bow", "2.00")], 2
    )
    for one, other in pairs:
        book = Book(PLAN)
        book.key_all(healthy(PLAN, {(one[0], "1I"): one[1], (other[0], "1E"): other[1]}))
        bad = {(d.position, d.part) for d in book.view.decisions} - accepted(book.view)
        assert bad == {("1I", one[0].split(".")[0]), ("1E", other[0].split(".")[0])}
