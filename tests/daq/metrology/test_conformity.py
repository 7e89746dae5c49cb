"""Judging: safe at every edge."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from daq.metrology.conformity import Conformity, conformance_probability, guard_band, judge

ordinary = st.floats(-10, 10).map(lambda x: round(x, 4))
width = st.floats(0.0, 5.0).map(lambda x: round(x, 4))


@settings(derandomize=True)
@given(ordinary, width, st.one_of(st.none(), ordinary), st.one_of(st.none(), width))
def test_it_proves_only_what_is_so(value, u, lower, room):
    upper = None if room is None else (lower or 0.0) + room
    if lower is None and upper is None:
        return
    judged = judge(value, u, lower, upper)
    inside = (lower is None or lower <= value) and (upper is None or value <= upper)
    if judged is Conformity.PROVEN_IN:
        assert inside
        assert conformance_probability(value, u, lower, upper) >= 0.95
    if judged is Conformity.PROVEN_OUT:
        assert not inside
    if u == 0:
        assert judged is (Conformity.PROVEN_IN if inside else Conformity.PROVEN_OUT)


@settings(derandomize=True)
@given(ordinary, st.floats(0.001, 1.0), ordinary)
def test_more_uncertainty_never_proves_more(value, u, upper):
    if judge(value, 2 * u, None, upper) is not Conformity.NEITHER:
        assert judge(value, u, None, upper) is judge(value, 2 * u, None, upper)


def test_a_hopeless_uncertainty_in_the_middle_proves_nothing():
    """A flat probability would say: surely outside. It was not measured, that is all."""
    assert judge(5.0, 100.0, 4.99, 5.01) is Conformity.NEITHER


def test_it_turns_exactly_at_the_guard_band():
    edge = guard_band(0.95)
    for sign, expected in ((-1e-9, Conformity.PROVEN_IN), (1e-9, Conformity.NEITHER)):
        assert judge(0.03 - 0.001 * (edge - sign), 0.001, None, 0.03) is expected
    assert judge(0.03 + 0.001 * (edge + 1e-9), 0.001, None, 0.03) is Conformity.PROVEN_OUT


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((1.0, 0.1, None, None), "no limit"),
        ((math.nan, 0.1, 0.0, None), "value is nan"),
        ((1.0, math.nan, 0.0, None), "0 or more"),
        ((1.0, -0.1, 0.0, None), "0 or more"),
        ((1.0, math.inf, 0.0, None), "0 or more"),
        ((1.0, 0.1, math.inf, None), "lower limit is inf"),
        ((1.0, 0.1, 2.0, 1.0), "above the upper"),
        ((1.0, 0.1, 0.0, 2.0, 0.3), "above 0.5"),
        ((1.0, 0.1, 0.0, 2.0, 1.0), "below 1"),
    ],
)
def test_what_cannot_be_judged_is_refused_with_a_sentence(arguments, said):
    with pytest.raises(ValueError, match=said):
        judge(*arguments)


def test_a_tolerance_too_narrow_for_the_uncertainty_has_no_guard_band():
    with pytest.raises(ValueError, match="No value reaches"):
        guard_band(0.95, 2.0)
