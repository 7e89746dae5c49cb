"""Gaps grow, end somewhere, and are not the same for all."""

from hypothesis import given
from hypothesis import strategies as st

from api.push.gaps import Gaps


@given(st.integers(1, 10_000), st.floats(0, 1))
def test_a_gap_lies_between_the_half_and_the_whole_of_its_doubling(tries, chance):
    gap_s = Gaps(5.0, 86_400.0, lambda: chance).after(tries)
    whole_s = min(86_400.0, 5.0 * 2.0 ** min(tries - 1, 60))
    assert whole_s / 2 <= gap_s <= whole_s


def test_they_double_up_to_the_longest():
    gaps = Gaps(5.0, 86_400.0, lambda: 1.0)
    assert [gaps.after(tries) for tries in (1, 2, 3)] == [5.0, 10.0, 20.0]
    assert gaps.after(100) == 86_400.0
