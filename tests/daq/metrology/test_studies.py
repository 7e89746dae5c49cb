"""Statistics: what is refused, and that large offsets cost nothing."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from daq.metrology import studies
from daq.metrology.indicator import Run

small = st.lists(st.integers(-1000, 1000), min_size=3, max_size=20).filter(
    lambda v: len(set(v)) > 1
)


@settings(derandomize=True)
@given(small, st.sampled_from([0, 10**6, 10**12]))
def test_an_offset_changes_no_spread(values, offset):
    plain = studies.standard_deviation(values)
    moved = studies.standard_deviation([value + offset for value in values])
    assert moved == pytest.approx(plain, rel=1e-12)


@settings(derandomize=True)
@given(small, st.floats(-5, 5), st.floats(-100, 100))
def test_a_straight_line_is_found(x, slope, intercept):
    line = studies.line(x, [intercept + slope * each for each in x])
    assert line.slope == pytest.approx(slope, abs=1e-9)
    assert line.at(7.0) == pytest.approx(intercept + 7 * slope, abs=1e-6)
    assert line.u_at(7.0) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(
    ("compute", "said"),
    [
        (lambda: studies.mean([]), "no values"),
        (lambda: studies.standard_deviation([1.0]), "two values"),
        (lambda: studies.line([1, 2], [1, 2]), "three points"),
        (lambda: studies.line([2, 2, 2], [1, 2, 3]), "one place"),
        (lambda: studies.lag_one([2, 2, 2]), "all the same"),
        (lambda: studies.correlation([1, 2], [2, 2]), "all the same"),
        (lambda: studies.line_through_origin([1], [1]), "two points"),
        (lambda: studies.one_way([[1.0, 2.0]]), "two groups"),
        (lambda: studies.one_way([[1.0], [2.0]]), "repeat"),
        (lambda: Run([0, 1], [0, 1], [0]), "as many"),
        (lambda: Run([1, 0], [0, 1], [0, 1]), "rise"),
    ],
)
def test_too_little_is_refused_with_a_sentence(compute, said):
    with pytest.raises(ValueError, match=said):
        compute()
