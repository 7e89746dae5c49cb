"""Inches: an inch is exactly 25.4 mm (international yard and pound agreement of 1959), and no
figure in inches is kinder than the one in mm that it came from. Invented records."""

from decimal import Decimal
from fractions import Fraction

from hypothesis import given, settings

from api.export.units import in_length_unit
from tests.api.export.test_every_quantity import MANY
from tests.generators.a_record import records

MM = Fraction("25.4")


def exactly(value: Decimal) -> Fraction:
    return Fraction(value) * MM


def digits(value: Decimal) -> int:
    return -value.as_tuple().exponent


@settings(parent=MANY, max_examples=60)
@given(view=records())
def test_no_figure_is_kinder_in_inches(view):
    shown = in_length_unit(view, "in")
    for mm, inch in zip(view.measurements, shown.measurements, strict=True):
        if mm.unit != "mm":
            assert inch == mm
            continue
        assert (inch.unit, inch.status, inch.complete) == ("[in_i]", mm.status, mm.complete)
        if mm.value is not None:
            assert (
                abs(exactly(inch.value) - Fraction(mm.value)) <= MM / 10 ** digits(inch.value) / 2
            )
            assert digits(inch.value) == digits(mm.value) + 1
        if mm.uncertainty is not None:
            assert exactly(inch.uncertainty) >= Fraction(mm.uncertainty)
        if mm.limits is not None:
            lower, upper = inch.limits.lower, inch.limits.upper
            assert (lower is None, upper is None) == (
                mm.limits.lower is None, mm.limits.upper is None,
            )  # fmt: skip
            assert lower is None or exactly(lower) >= Fraction(mm.limits.lower)
            assert upper is None or exactly(upper) <= Fraction(mm.limits.upper)


@settings(parent=MANY, max_examples=20)
@given(view=records(most=2))
def test_figures_of_parts_are_turned_over_likewise(view):
    shown = in_length_unit(view, "in")
    pairs = [
        (mm, inch)
        for one, other in zip(view.shapes, shown.shapes, strict=True)
        for mm, inch in zip(one.figures, other.figures, strict=True)
    ]
    for mm, inch in pairs:
        if mm.unit != "mm":
            assert inch == mm
            continue
        assert inch.unit == "[in_i]"
        assert abs(exactly(inch.value) - Fraction(mm.value)) <= MM / 10 ** digits(inch.value) / 2
        assert mm.uncertainty is None or exactly(inch.uncertainty) >= Fraction(mm.uncertainty)
