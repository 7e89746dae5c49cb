"""What cannot be of the part is worked into nothing: no pair, no work, no sentence."""

from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from daq.head.plan import shipped_plans
from tests.generators.books import Book

PLAN = shipped_plans()["four-by-two-whole"]
AT = "2E"
GUIDE, STEM = "guide.diameter", "valve.stem_diameter"


def measured(bore_mm, stem_mm, odd_mm=None):
    """A guide with all but its last place measured, and its stem; odd_mm: what the last shows."""
    book = Book(PLAN)
    for place in PLAN.step(STEM).places:
        book.key(STEM, AT, stem_mm, place)
    *places, last = PLAN.step(GUIDE).places
    for place in places:
        book.key(GUIDE, AT, bore_mm, place)
    if odd_mm is not None:
        book.key(GUIDE, AT, odd_mm, last)
    return book


def said(book, but=""):
    return [
        (decision.part, decision.decision, reason.text, reason.next)
        for decision in book.view.decisions
        if decision.position == AT
        for reason in decision.reasons
        if reason.characteristic != but
    ]


@settings(max_examples=25, deadline=None)
@given(
    worn=st.integers(-40, 200),
    thin=st.integers(-10, 80),
    odd=st.decimals("0.0001", "30", places=4),
)
def test_a_bore_off_the_plan_changes_nothing_but_its_own_reason(worn, thin, odd):
    step = PLAN.step(GUIDE)
    if abs(odd - step.nominal_mm) <= step.window_mm:
        odd += 2 * step.window_mm + Decimal("0.0001")
    bore = step.nominal_mm + worn * Decimal("0.001")
    stem = PLAN.step(STEM).nominal_mm - thin * Decimal("0.001")
    without, beside = measured(bore, stem), measured(bore, stem, odd)
    assert said(beside, but=GUIDE) == said(without, but=GUIDE)
    own = [text for _, _, text, _ in said(beside) if "lies outside" in text and str(odd) in text]
    assert len(own) == 1
    pairs = [
        [(m.characteristic, m.value) for m in book.view.measurements if m.came == "derived"]
        for book in (without, beside)
    ]
    assert pairs[0] == pairs[1]
