"""Positions of heads of every shape."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from daq.head.errors import RefusedError
from daq.head.layout import HEAD, Layout, side_of
from daq.head.plan import of_bank, shipped_plans


def test_positions_are_written_as_in_the_trade():
    assert Layout(cylinders=1).positions == ("1I", "1E")
    assert Layout(cylinders=2, intake=2, exhaust=1).positions == (
        *("1Ia", "1Ib", "1E"),
        *("2Ia", "2Ib", "2E"),
    )
    bank = Layout(cylinders=3, bank="left", numbers=(2, 4, 6))
    assert bank.positions == ("2I", "2E", "4I", "4E", "6I", "6E")


@given(st.integers(1, 12), st.integers(1, 3), st.integers(1, 3))
def test_every_position_has_its_side_and_stands_once(cylinders, intake, exhaust):
    if intake + exhaust > 5:
        with pytest.raises(ValidationError, match="valves a cylinder"):
            Layout(cylinders=cylinders, intake=intake, exhaust=exhaust)
        return
    positions = Layout(cylinders=cylinders, intake=intake, exhaust=exhaust).positions
    assert len(set(positions)) == len(positions) == cylinders * (intake + exhaust)
    assert [side_of(position) for position in positions].count("I") == cylinders * intake


@pytest.mark.parametrize(
    ("given_", "said"),
    [
        ({"cylinders": 13}, "less than or equal to 12"),
        ({"cylinders": 0}, "greater than or equal to 1"),
        ({"cylinders": 2, "numbers": [1, 2, 3]}, "names 3 cylinders, and 'cylinders' says 2"),
        ({"cylinders": 2, "bank": "left", "numbers": [1, 1]}, "names a cylinder twice"),
        ({"cylinders": 2, "numbers": [1, 3]}, "need 'bank'"),
        ({"cylinders": 2, "bank": "middle"}, "'left' or 'right'"),
    ],
)
def test_a_layout_that_cannot_be_is_a_sentence(given_, said):
    with pytest.raises(ValidationError, match=said):
        Layout.model_validate(given_)


@pytest.mark.parametrize("text", [HEAD, "I1", "0I", "1i", "1Id", "100I", ""])
def test_what_is_no_valve_has_no_side(text):
    with pytest.raises(ValueError, match="not a position"):
        side_of(text)


def test_one_plan_does_for_both_banks():
    plan = shipped_plans()["four-by-two"]
    assert plan.targets[0].position == "1I"
    right = of_bank(plan, "right", (2, 4, 6, 8))
    assert (right.head.bank, right.targets[0].position) == ("right", "2I")
    assert right.steps == plan.steps
    assert of_bank(right, None, ()) == right
    for bank, numbers, said in [
        ("right", (2, 4), "names 2 cylinders"),
        (None, (2, 4, 6, 8), "need 'bank'"),
        ("right", (2, 2, 4, 6), "names a cylinder twice"),
    ]:
        with pytest.raises(RefusedError, match=said):
            of_bank(plan, bank, numbers)
