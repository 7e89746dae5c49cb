"""Limits from a CSV: bad rows named with the reason, good ones kept."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.head.errors import RefusedError
from daq.head.limits_csv import with_limits
from daq.head.plan import Place, Target, shipped_plans
from daq.head.ruling import ruling

PLAN = shipped_plans()["four-by-two-whole"]
HEADER = "characteristic,use,side,spot,length_mm,lower,upper,unit,kind,source,acknowledged_by\n"


def held(plan, name, position, place=None, made_new=""):
    return ruling(plan, Target(name, position, place), made_new=made_new)


def test_good_rows_are_taken_and_bad_ones_named():
    found = with_limits(
        PLAN,
        HEADER
        + "guide.clearance_max,wear,E,,,,0.005,in,maker,invented manual p. 1,\n"
        + "guide.clearance_max,new,E,,,,85,um,,invented manual p. 1,\n"
        + "valve.stem_runout,,,,,,30,mm,maker,invented manual p. 2,\n"
        + "valve.colour,,,,,,1,mm,maker,invented,\n"
        + "seat.width,,,,,1,6,mm,maker,invented,\n"
        + "seat.width,,,,,1,6,mm,maker,invented,A. Person\n"
        + 'spring.load,,,,38.0,"235,5",,N,maker,invented,\n'
        + "spring.load,,,,38.0,53.5,,lbf,maker,invented,\n"
        + "spring.load,,,,38.0,54,,lb-ft,maker,invented,\n"
        + "spring.load,,,,40.0,235,,N,maker,invented,\n"
        + "guide.rocking,,,,,,0.2,mm,maker,invented,\n"
        + "head.flatness,,,diagonal 9,,,0.05,mm,maker,invented,\n"
        + "seat.width,,,,,1.0,2.0,mm,maker,,\n"
        + "seat.width,,left,,,1.0,2.0,mm,maker,invented,\n"
        + "seat.width,,,,,2.0,1.0,mm,maker,invented,\n",
    )
    assert found.taken == 4
    said = {row.line: row.text for row in found.bad}
    assert list(said) == [4, 5, 6, 8, 10, 11, 12, 13, 14, 15, 16]
    for line, words in {
        4: "a run-out limit of 30 mm cannot be one",
        5: "there is no characteristic 'valve.colour'",
        6: "6 mm is not usual; usual are 0.5 to 5.0 mm",
        8: "write it with a point: '235.5'",
        10: "is a torque, not a load",
        11: "there are 38.0; 29.0",
        12: "does not ask for guide.rocking",
        13: "has no place diagonal 9; there are lengthwise, port side",
        14: "source is missing",
        15: "side is 'left'",
        16: "lower 2.0 lies above upper 1.0",
    }.items():
        assert words in said[line], said[line]
    exhaust = held(found.plan, "guide.clearance_max", "2E")
    assert (exhaust.limit.upper, exhaust.said_by) == (
        Decimal("0.127"),
        "wear limit; invented manual p. 1",
    )
    new = held(found.plan, "guide.clearance_max", "2E", made_new="guide: renewed")
    assert new.limit.upper == Decimal("0.085")
    assert new.said_by == "limit for new; invented manual p. 1 (guide: renewed)"
    load = held(found.plan, "spring.load", "1I", Place(length_mm=Decimal("38.0")))
    assert load.limit.lower == pytest.approx(Decimal("237.98"), abs=Decimal("0.01"))
    assert held(PLAN, "guide.clearance_max", "2E").limit.kind == "guide"


def test_a_printed_pair_has_to_agree():
    header = "characteristic,upper_mm,upper_in,source\n"
    wrong = with_limits(PLAN, header + "guide.clearance_max,0.015,0.006,invented\n")
    assert "0.006 in is 0.1524 mm, not 0.015 mm (a decimal point?)" in wrong.bad[0].text
    right = with_limits(PLAN, header + "guide.clearance_max,0.15,0.006,invented\n")
    assert right.bad == ()
    assert held(right.plan, "guide.clearance_max", "1I").limit.upper == Decimal("0.15")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "'characteristic' is missing"),
        ("a,b\n1,2\n", "there is no column 'a'"),
        ("characteristic,colour\nx,y\n", "there is no column 'colour'"),
        (HEADER + "seat.width,,,,,1,2,mm,maker,x,\n" * 1001, "more than 1000 rows"),
    ],
)
def test_what_is_no_table_of_limits_is_refused(text, said):
    with pytest.raises(RefusedError, match=said):
        with_limits(PLAN, text)


CELLS = st.one_of(
    st.text(max_size=12),
    st.sampled_from(["guide.clearance_max", "spring.load", "new", "I", "38.0", "0.1", "in", "NaN"]),
)


@given(st.lists(st.lists(CELLS, max_size=13), max_size=4))
def test_garbage_is_named_row_by_row_and_never_more_than_refused(rows):
    text = HEADER + "\n".join(",".join(row) for row in rows)
    try:
        found = with_limits(PLAN, text)
    except RefusedError:
        return
    assert found.taken + len(found.bad) <= len(text.splitlines())
    assert all(row.text for row in found.bad)
