"""What published manuals do when something is out, and what the decisions here say to do.

The rules and figures are quoted with their source; lengths are the printed inches times 25.4.
"""

from decimal import Decimal

import pytest

from daq.head.instrument import Instrument
from daq.head.plan import Plan, shipped_plans
from tests.generators.books import Book
from tests.generators.healthy import healthy

# A gauge so good that a value a tenth of a thou beyond its limit is proven beyond it.
FINEST = Instrument("finest gauge", "G-0", 0.0001, error_limit_mm=0.0001)
SOURCE = {"kind": "maker", "source": "see the test"}


def mm(inch):
    return f"{Decimal(str(inch)) * Decimal('25.4'):.4f}"


def pair_plan(limit_in, nominal_in):
    """One cylinder, one place each: a pair with the clearance limit of a manual."""
    place = {"depths_mm": ["10"], "directions": ["along"], "window_mm": "1"}
    limit = {"upper": mm(limit_in), **SOURCE}
    return Plan.model_validate(
        {
            "name": "pair",
            "title": "a pair",
            "source": "see the test",
            "head": {"cylinders": 1},
            "steps": [
                {"characteristic": "valve.stem_diameter", "nominal_mm": mm(nominal_in), **place},
                {"characteristic": "guide.diameter", "nominal_mm": mm(nominal_in + 0.002), **place},
                {"characteristic": "guide.clearance_max", "limit": limit},
            ],
        }
    )


def decided(plan, guide_in, stem_in):
    book = Book(plan)
    for name, inch in (("guide.diameter", guide_in), ("valve.stem_diameter", stem_in)):
        place = plan.step(name).places[0]
        # As many digits as such a gauge would give: the printed ones are not its resolution.
        value = Decimal(str(inch)).quantize(Decimal("0.000001"))
        book.key(name, "1I", value, place, gauge=FINEST, unit="in")
    decision = book.decision("1I", "guide")
    return decision.decision.value, decision.reasons[0]


@pytest.mark.parametrize(
    ("clearance_in", "verdict", "knurl"),
    [
        # TM 9-2815-255-24: up to 0.006 in accept; above it up to 0.008 in knurl, thread, hand
        # ream; above 0.008 in ream for a valve with 0.015 or 0.030 in oversize stem.
        ("0.0059", "accept", None),
        ("0.0061", "rework", True),
        ("0.0079", "rework", True),
        ("0.0081", "rework", False),
    ],
)
def test_rework_by_band(clearance_in, verdict, knurl):
    stem = Decimal("0.3100")
    found, reason = decided(pair_plan(0.006, 0.310), stem + Decimal(clearance_in), stem)
    assert found == verdict
    if knurl is not None:
        assert ("knurl and ream" in reason.next) is knurl
        assert "oversize stem (+0.381 mm)" in reason.next


@pytest.mark.parametrize(
    ("guide_in", "stem_in", "limit_in", "verdict"),
    [
        # TM 5-6115-400-35: new pairs of 0.001 to 0.0025 in; replace above 0.0055 in.
        ("0.3730", "0.3715", 0.0055, "accept"),
        ("0.3740", "0.3715", 0.0055, "accept"),
        ("0.3772", "0.3715", 0.0055, "rework"),
        # TM 5-2420-222-34 table 3-2: every new pair lies within 0.002 to 0.006 in.
        ("0.3765", "0.3715", 0.0060, "accept"),
        ("0.3745", "0.3725", 0.0060, "accept"),
        # TM 9-2815-225-34&P: guide 0.455 and stem 0.449 in are each at their own wear limit and
        # pass alone; together they are at 0.006 in, over the 0.0055 in of a like stem above.
        ("0.4550", "0.4490", 0.0055, "rework"),
    ],
)
def test_published_pairs(guide_in, stem_in, limit_in, verdict):
    nominal = float(stem_in)
    assert decided(pair_plan(limit_in, nominal), guide_in, stem_in)[0] == verdict


def test_the_clearance_is_guide_minus_stem():
    # One maker prints it the other way round; then every pair would pass.
    plan = pair_plan(0.006, 0.340)
    assert decided(plan, "0.3420", "0.3400")[0] == "accept"
    assert decided(plan, "0.3500", "0.3400")[0] == "rework"


@pytest.fixture
def head():
    """A healthy head in which some values are something else."""

    def make(changed):
        book = Book(shipped_plans()["four-by-two-whole"])
        book.key_all(healthy(book.plan, changed))
        return book

    return make


def reason(book, part, name):
    return next(r for r in book.decision("3E", part).reasons if r.characteristic == name)


def test_the_recess_chain(head):
    # TM 5-3810-306-34: measure again with a new valve in the same seat. Inside: grind the seat for
    # it. Still outside: new seat, then the old valve; keep it if inside, else a new valve.
    book = head({("valve.recess", "3E"): "1.60"})
    assert "try a new valve in the same seat" in reason(book, "valve", "valve.recess").next
    book.rework("3E", "valve", "replaced")
    book.key("valve.recess", "3E", "1.50")
    assert "renew the seat insert" in reason(book, "valve", "valve.recess").next
    assert "try the old valve" in reason(book, "valve", "valve.recess").next
    book.rework("3E", "seat", "renewed")
    book.key("valve.recess", "3E", "1.45")
    found = reason(book, "valve", "valve.recess")
    assert (found.verdict.value, found.act.what) == ("replace", "replaced")
    book.key("valve.recess", "3E", "1.45")
    book.rework("3E", "valve", "replaced")
    book.key("valve.recess", "3E", "0.95")
    assert all(r.characteristic != "valve.recess" for r in book.decision("3E", "valve").reasons)


def test_the_face_chain(head):
    # TM 10-3930-671-24: face true with the stem within 0.002 in; else reface; still out: replace.
    book = head({("valve.face_runout", "3E"): mm(0.003)})
    assert reason(book, "valve", "valve.face_runout").act.what == "refaced"
    book.rework("3E", "valve", "refaced")
    book.key("valve.face_runout", "3E", mm(0.0025))
    again = reason(book, "valve", "valve.face_runout")
    assert again.act.what == "replaced"
    assert "still out after refacing" in again.next


def test_the_seat_chain(head):
    # TM 5-4320-300-14: over 0.002 in look at the guide first; guide straight: regrind the insert.
    worn = {("seat.runout", "3E"): mm(0.003), ("guide.diameter", "3E"): "7.110"}
    assert reason(head(worn), "seat", "seat.runout").next.startswith("the guide and its pilot")
    book = head({("seat.runout", "3E"): mm(0.003)})
    assert reason(book, "seat", "seat.runout").next.startswith("cut the seat")
    book.rework("3E", "seat", "cut")
    book.key("seat.runout", "3E", mm(0.003))
    assert "renew the seat insert" in reason(book, "seat", "seat.runout").next


def test_the_leak_chain(head):
    # TM 9-6115-604-34; TM 55-1905-223-24-3: if it leaks a little lapping is allowed, then again.
    book = head({("seat.leak", "3E"): "0.900"})
    first = reason(book, "seat", "seat.leak")
    assert first.next.startswith("clean seat and face, drop the valve")
    assert first.act.what == "lapped"
    book.rework("3E", "seat", "lapped")
    book.key("seat.leak", "3E", "0.700")
    assert reason(book, "seat", "seat.leak").act.what == "cut"


def test_the_margin_is_measured_after_refacing(head):
    # TM 9-2320-260-34-1 step 46; the tip within its length (TM 5-1940-322-24).
    book = head({})
    book.rework("3E", "valve", "refaced")
    assert ("valve.margin", "3E", None) in book.record.remaining
    assert book.verdict("3E", "valve") == "not measured"


def test_flatness_bands_of_one_maker():
    # Under 0.05 mm leave; 0.05 to 0.2 mm resurface; at most 0.2 mm may come off (height 100 mm).
    plan = Plan.model_validate(
        {
            "name": "face",
            "title": "a head face",
            "source": "an engine maker, cylinder head warpage",
            "head": {"cylinders": 1},
            "steps": [
                {"characteristic": "head.flatness", "limit": {"upper": "0.05", **SOURCE}},
                {"characteristic": "head.height", "limit": {"lower": "99.8", **SOURCE}},
            ],
        }
    )
    for value, verdict in (("0.040", "accept"), ("0.100", "rework"), ("0.210", "replace")):
        book = Book(plan)
        book.key("head.flatness", "head", value, gauge=FINEST)
        book.key("head.height", "head", "100.000", gauge=FINEST)
        assert book.verdict("head", "head") == verdict, value


def test_the_rocking_chain():
    # An engine maker: rocking too large: again with a new valve. Inside: new valve. Still too
    # large: bore minus stem, then guide and valve as needed. The printed figures are that maker's
    # for the rocking alone and are no clearances.
    plan = Plan.model_validate(
        {
            "name": "rocking",
            "title": "rocking",
            "source": "see the test",
            "head": {"cylinders": 1},
            "steps": [
                {"characteristic": "guide.rocking", "limit": {"upper": "0.50", **SOURCE}},
                {"characteristic": "guide.clearance_max", "limit": {"upper": "0.12", **SOURCE}},
            ],
        }
    )
    book = Book(plan)
    book.key("guide.rocking", "1I", "0.60")
    found = next(r for r in book.decision("1I", "guide").reasons if "rocking" in r.characteristic)
    assert found.verdict.value == "rework"
    chain = ("again with a new valve", "replace the valve", "measure bore and stem")
    places = [found.next.index(each) for each in chain]
    assert places == sorted(places)
    book.key("guide.rocking", "1E", "0.30")
    reasons = {r.characteristic: r.verdict.value for r in book.decision("1E", "guide").reasons}
    assert "guide.rocking" not in reasons, "within its own limit, and no clearance of 0.30"
    assert reasons["guide.clearance_max"] == "not measured"
