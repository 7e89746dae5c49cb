"""Worked examples as published, through the product's own arithmetic.

Sources beside each row of fixtures/trade/worked.toml. Bands of bore, stem and clearance stand in
test_clearance.py.
"""

from decimal import Decimal

import pytest

from daq.capture.attempt import Aim, Attempt
from daq.capture.base import Kind, Setup
from daq.head.guide_values import Known, guide_value
from daq.head.limits import Limit
from daq.head.measurement import Status, status_of
from daq.head.quantity import canonical
from daq.metrology.conformity import Conformity, judge
from drivers.reading import Reading, Unit
from tests.external.trade import WORKED

U_MM = 0.0005


def in_mm(value):
    return float(canonical(Decimal(str(value)), "in", expected="mm"))


@pytest.mark.parametrize("name", ["w_222_std", "w_400_I", "w_400_E", "w_670"])
def test_every_new_pair_is_inside(name):
    row = WORKED[name]
    to_mm = in_mm if row["unit"] == "in" else float
    low, high = row.get("accept", (None, row.get("replace_above")))
    for clearance in row["result"]:
        lower = None if low is None else to_mm(low)
        # A clearance exactly on the window's end is inside it; nothing measured is that sharp.
        inside = judge(to_mm(clearance), 0.0, lower, to_mm(high))
        assert inside is Conformity.PROVEN_IN, (name, clearance)


def test_w_255_up_to_six_thousandths_is_accepted():
    limit = Limit(upper=Decimal(str(in_mm("0.006"))), kind="maker", source="TM 9-2815-255-24")
    for clearance, said in WORKED["w_255_bands"]["points"]:
        status = status_of(in_mm(clearance), 0.0, limit, complete=True)
        assert (status is Status.PASS) == (said == "accept"), clearance
    near = status_of(in_mm("0.0061"), U_MM * 5, limit, complete=True)
    assert near is Status.INDETERMINATE, "a tenth of a thousandth is not proven by a coarse gauge"


def test_w_247_the_lowest_load_is_new_less_the_wear_column():
    for new, _, lowest in WORKED["w_247_load"]["points"]:
        height = "open" if new == Decimal("134.2") else "fitted"
        limit = guide_value("spring.load", Known("I", nominal=new, height=height), "wear")
        assert limit.lower == pytest.approx(lowest, abs=Decimal("0.005")), new


def test_w_664_grind_depth_is_recess_after_less_recess_before():
    """D 0.045, D1 0.055 in: 0.010 in taken, and D1 within 0.0389 to 0.0598 in."""

    def recess_mm(deep_in):
        attempt = Attempt(Aim(Kind.SETTLE, Setup(resolution=0.001), zeros=1))
        levels = [0.0] * 60 + [-in_mm(deep_in)] * 60
        for count, level in enumerate(levels):
            t_s = round(count * 0.05, 4)
            attempt.feed([Reading("bridge", "", t_s, round(level, 3), Unit.MM)])
        assert attempt.done
        return attempt.result().measured.value

    before, after = recess_mm("0.045"), recess_mm("0.055")
    assert after - before == pytest.approx(in_mm("0.010"), abs=0.0015)
    assert judge(after, U_MM, in_mm("0.0389"), in_mm("0.0598")) is Conformity.PROVEN_IN
    assert before > 0, "below the face is positive"


def test_w_664_tir_is_largest_less_smallest_with_signs():
    row = WORKED["w_664_tir"]
    assert max(row["readings"]) - min(row["readings"]) == row["result"][0]
    tir = float(max(row["readings"]) - min(row["readings"]))
    assert judge(in_mm(tir), U_MM, None, in_mm(row["replace_above"])) is Conformity.PROVEN_IN


def test_w_head_flatness_over_two_tenths_is_no_leave():
    limit = Limit(upper=Decimal("0.05"), kind="maker", source="engine maker")
    said = {
        point: status_of(float(point), U_MM, limit, complete=True)
        for point, _ in WORKED["w_head_bands"]["points"]
    }
    assert list(said.values()) == [Status.PASS, Status.FAIL, Status.FAIL]
