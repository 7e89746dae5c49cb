"""Published figures that cannot be right, each noticed the way it would come in.

Sources beside each row of fixtures/trade/contradictions.toml.
"""

from decimal import Decimal

import pytest

from daq.head.doubts import doubts
from daq.head.errors import RefusedError
from daq.head.inches import disagreement
from daq.head.quantity import canonical
from daq.head.step import Step
from tests.external.trade import CONTRADICTIONS

PAIRS = {name: row for name, row in CONTRADICTIONS.items() if "inch" in row}
# Here the millimetres are right, and the inch figure carries the slip.
WRONG_INCH = {"c_604_head": Decimal("4.755"), "c_old": Decimal("0.0197")}
OTHERS = {"c_306", "c_247", "c_222", "c_sub", "c_653"}


def step(name, **given):
    return Step.model_validate({"characteristic": name, **given})


def limit(**ends):
    return {"kind": "maker", "source": "published", **ends}


def test_every_case_is_tried():
    assert set(PAIRS) | OTHERS == set(CONTRADICTIONS)


@pytest.mark.parametrize("name", sorted(PAIRS))
def test_a_pair_that_does_not_agree_is_flagged(name):
    row = PAIRS[name]
    wrong = disagreement(row["inch"], row["printed_mm"])
    assert "look at the page again" in wrong
    if row["kind"] == "decimal point":
        assert "a decimal point?" in wrong
    right_inch = WRONG_INCH.get(name, row["inch"])
    right_mm = row["printed_mm"] if name in WRONG_INCH else round(row["consistent_mm"], 3)
    assert disagreement(right_inch, right_mm) == ""


@pytest.mark.parametrize("name", ["c_4310", "c_344_E"])
def test_such_a_pair_is_refused_as_a_limit_until_somebody_names_himself(name):
    row = PAIRS[name]
    ends = {"upper": str(row["printed_mm"]), "upper_in": str(row["inch"])}
    with pytest.raises(ValueError, match="acknowledged_by"):
        step("guide.clearance_max", limit=limit(**ends))
    kept = step("guide.clearance_max", limit=limit(**ends, acknowledged_by="A. Person"))
    assert "kept by A. Person" in kept.limit.said_by


def test_a_runout_printed_ten_times_too_large_is_refused_whatever_is_said():
    row = PAIRS["c_v33_seat"]
    ends = {"upper": str(row["printed_mm"])}
    with pytest.raises(ValueError, match="cannot be one"):
        step("seat.runout", limit=limit(**ends, acknowledged_by="A. Person"))
    assert step("seat.runout", limit=limit(upper=str(row["consistent_mm"])))


def test_c_306_minimum_for_maximum():
    asked = doubts([step("spring.squareness", limit=limit(lower="1.0"))])
    assert "minimum printed for maximum?" in asked[0].text
    assert doubts([step("spring.squareness", limit=limit(upper="1.0"))]) == []


def test_c_247_a_wear_column_larger_than_the_load():
    """Load 1.4 lb, wear column 8.14 lb: the lowest load would be negative."""
    load, column = (canonical(Decimal(each), "lbf", expected="N") for each in ("1.4", "8.14"))
    at = {"length_mm": "39.6", "nominal_n": str(load), "limit": limit(lower=str(load - column))}
    assert "a digit lost?" in doubts([step("spring.load", at=[at])])[0].text


def test_c_222_a_torque_is_no_force():
    with pytest.raises(RefusedError, match="is a torque, not a load"):
        canonical(Decimal(54), "lb-ft", expected="N")
    with pytest.raises(RefusedError, match="length of the tester's arm"):
        canonical(Decimal(73), "Nm", expected="N")


def test_c_sub_the_difference_taken_the_wrong_way_round():
    asked = doubts([step("guide.clearance_max", limit=limit(upper="-0.15"))])
    assert "it is guide − stem, not stem − guide" in asked[0].text


def test_c_653_a_band_narrower_than_its_tolerances():
    least = step("guide.clearance_min", limit=limit(lower="0.028"))
    most = step("guide.clearance_max", limit_new=limit(upper="0.030"), limit=limit(upper="0.10"))
    assert "a misprint?" in doubts([least, most])[0].text
