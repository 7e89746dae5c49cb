"""What fits is what the clearance of the pair allows: worked out once there, once here."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from daq.head.fitting import GUIDE, STEM, fitting
from daq.head.plan import Target, shipped_plans
from tests.generators.books import Book

PLAN = shipped_plans()["four-by-two-whole"]
AT = "2E"
UM = Decimal("0.001")


def places(name):
    return PLAN.step(name).places


def target(name, at=AT):
    return Target(name, at, places(name)[0])


def of_place(name, sizes):
    """Each place of the part with a size, in turn; what is over has none."""
    return zip(places(name), sizes, strict=False)


def clearances(book):
    return {m.characteristic: m for m in book.view.measurements if m.came == "derived"}


SIZES = st.lists(st.integers(0, 120), min_size=1, max_size=3)


@settings(max_examples=60, deadline=None)
@given(
    known=SIZES,
    end=st.sampled_from(["lower", "upper"]),
    beyond=st.integers(-3, 3),
    which=st.sampled_from([GUIDE, STEM]),
)
def test_it_lets_through_exactly_what_the_clearance_would(known, end, beyond, which):
    book = Book(PLAN)
    partner = STEM if which == GUIDE else GUIDE
    nominal = {name: PLAN.step(name).nominal_mm for name in (GUIDE, STEM)}
    for place, size in of_place(partner, known):
        book.key(partner, AT, nominal[partner] + size * UM, place)
    fits = fitting(book.record, target(which))
    assert fits.partner == partner
    value = getattr(fits, end) + beyond * UM
    book.key(which, AT, value, places(which)[0])
    found = clearances(book)
    most, least = found["guide.clearance_max"], found["guide.clearance_min"]
    within = most.value <= most.limits.upper and least.value >= least.limits.lower
    assert (fits.lower <= value <= fits.upper) == within
    # And what is the size of what is there does not move what fits it.
    assert fitting(book.record, target(which)) == fits


def test_nothing_fits_what_is_not_measured_or_lies_at_another_position():
    book = Book(PLAN)
    assert fitting(book.record, target(GUIDE)) is None
    book.key(STEM, "3E", PLAN.step(STEM).nominal_mm, places(STEM)[0])
    assert fitting(book.record, target(GUIDE)) is None
    assert fitting(book.record, target(GUIDE, "3E")) is not None


@pytest.mark.parametrize("name", ["valve.stem_runout", "guide.protrusion"])
def test_only_diameters_of_a_pair_fit(name):
    book = Book(PLAN)
    book.key(STEM, AT, PLAN.step(STEM).nominal_mm, places(STEM)[0])
    assert fitting(book.record, Target(name, AT, None)) is None


def test_a_limit_of_its_own_comes_first():
    own = {"lower": "6.9", "upper": "7.1", "kind": "maker", "source": "invented"}
    plan = PLAN.model_dump(mode="json", exclude_none=True)
    for step in plan["steps"]:
        if step["characteristic"] == GUIDE:
            step["limit"] = own
    book = Book(type(PLAN).model_validate(plan))
    book.key(STEM, AT, PLAN.step(STEM).nominal_mm, places(STEM)[0])
    assert fitting(book.record, target(GUIDE)) is None
