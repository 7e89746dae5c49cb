"""Limits against published ones: none of them is refused, and every guide value is among them.

Sources beside each row of fixtures/trade/limits.toml.
"""

from decimal import Decimal

import pytest

from daq.head.characteristic import CATALOGUE
from daq.head.doubts import doubts
from daq.head.guide_values import (
    Known,
    guide_value,
    plausible_mm,
    shim_most_mm,
    stem_wear_most_mm,
)
from daq.head.step import Step
from tests.external.trade import LIMITS

CLEARANCE = "guide.clearance"
CLEARANCES = {name: row for name, row in LIMITS.items() if row["characteristic"] == CLEARANCE}
OURS = {
    name: row
    for name, row in LIMITS.items()
    if row["characteristic"] in CATALOGUE and ("min_mm" in row or "max_mm" in row)
}


def asked(characteristic, **limit):
    given = {"kind": "maker", "source": "published", **limit}
    return doubts([Step.model_validate({"characteristic": characteristic, "limit": given})])


@pytest.mark.parametrize("name", sorted(OURS))
def test_a_published_limit_raises_no_doubt(name):
    row = OURS[name]
    ends = {"lower": row.get("min_mm"), "upper": row.get("max_mm")}
    limit = {end: str(value) for end, value in ends.items() if value is not None}
    assert asked(row["characteristic"], **limit) == []


@pytest.mark.parametrize("name", sorted(CLEARANCES))
def test_a_published_clearance_raises_no_doubt(name):
    row = CLEARANCES[name]
    if "max_mm" in row:
        assert asked("guide.clearance_max", upper=str(row["max_mm"])) == []
    if "new_mm" in row:
        least, most = row["new_mm"]
        assert asked("guide.clearance_min", lower=str(least)) == []
        assert asked("guide.clearance_max", upper=str(most)) == []


@pytest.mark.parametrize("name", sorted({*OURS, *CLEARANCES}))
def test_the_usual_slips_of_a_published_limit_are_noticed(name):
    """µm typed as mm always; an inch figure for mm wherever that leaves the published range."""
    row = LIMITS[name]
    figure = row.get("max_mm") or row.get("min_mm")
    characteristic = row["characteristic"]
    bounds = plausible_mm(characteristic)
    if figure is None or bounds is None or figure == 0:
        return
    at = "guide.clearance_max" if characteristic == CLEARANCE else characteristic
    sort = CATALOGUE[at].limit
    end = "lower" if sort == "least" or ("max_mm" not in row) else "upper"
    slip = figure * 1000
    if CATALOGUE[at].name.endswith("runout"):
        with pytest.raises(ValueError, match="cannot be one"):
            asked(at, **{end: str(slip)})
        return
    assert asked(at, **{end: str(slip)})


GUIDED = {
    "valve.stem_runout": ("max_mm", "upper", {}),
    "valve.face_runout": ("max_mm", "upper", {}),
    "seat.runout": ("max_mm", "upper", {}),
}


@pytest.mark.parametrize("name", sorted(GUIDED))
def test_a_guide_value_lies_among_the_published(name):
    key, end, more = GUIDED[name]
    published = [row[key] for row in LIMITS.values() if row["characteristic"] == name]
    half_mm = Decimal("0.001")  # 0.002 in is 0.0508 mm, and is meant as 0.05
    limit = guide_value(name, Known("I", **more), "wear")
    assert min(published) - half_mm <= getattr(limit, end) <= max(published)
    assert limit.kind == "guide"


@pytest.mark.parametrize("name", sorted(CLEARANCES))
def test_a_guide_value_for_clearance_is_no_looser_than_the_widest_published(name):
    """Wear at most the widest of the same stem range, and within 0.05 mm of each maker's own."""
    row = CLEARANCES[name]
    if "stem_mm" not in row or "max_mm" not in row:
        return
    for side in ("I", "E") if row["side"] in {"both", "not said"} else (row["side"],):
        limit = guide_value("guide.clearance_max", Known(side, stem_mm=row["stem_mm"]), "wear")
        assert abs(limit.upper - row["max_mm"]) <= Decimal("0.05"), (name, side)


@pytest.mark.parametrize(
    ("stem_mm", "side", "least", "new", "worn"),
    [
        ("5.48", "I", "0.02", "0.055", "0.08"),
        ("6.2", "E", "0.045", "0.085", "0.13"),
        ("7.49", "I", "0.02", "0.055", "0.1"),
        ("7.5", "I", "0.03", "0.075", "0.12"),
        ("9.0", "E", "0.045", "0.1", "0.15"),
    ],
)
def test_the_lower_end_of_a_stem_range_belongs_to_it(stem_mm, side, least, new, worn):
    known = Known(side, stem_mm=Decimal(stem_mm))
    assert guide_value("guide.clearance_min", known, "wear").lower == Decimal(least)
    assert guide_value("guide.clearance_max", known, "new").upper == Decimal(new)
    assert guide_value("guide.clearance_max", known, "wear").upper == Decimal(worn)


def test_no_stem_no_guide_value_and_none_at_all_for_the_recess():
    assert guide_value("guide.clearance_max", Known("I"), "wear") is None
    assert guide_value("guide.clearance_max", Known("I", stem_mm=Decimal(20)), "wear") is None
    for stem in (None, Decimal(7)):
        assert guide_value("valve.recess", Known("E", stem_mm=stem), "wear") is None
    assert guide_value("seat.leak", Known("E"), "wear") is None


def test_a_spring_may_lose_three_percent_of_its_length():
    """NAVEDTRA 14076: more than 3 percent shorter than new: replace."""
    limit = guide_value("spring.free_length", Known("I", nominal=Decimal("47.9")), "wear")
    assert limit.lower == Decimal("46.463")
    published = LIMITS["free_254_inner"]
    assert abs(limit.lower - published["min_mm"]) < Decimal("0.1")


@pytest.mark.parametrize("name", ["sq_25p", "sq_jm", "sq_truck", "sq_20"])
def test_a_spring_may_lean_about_as_far_as_makers_print(name):
    row = LIMITS[name]
    known = Known("I", free_length_mm=row["free_length_mm"])
    limit = guide_value("spring.squareness", known, "wear")
    assert abs(limit.upper - row["max_mm"]) <= Decimal("0.45")


def test_a_margin_is_never_under_half_of_new():
    """TM 10-3930-671-24; and the least by stem and side, whichever is more."""
    known = Known("I", stem_mm=Decimal(7), nominal=Decimal("2.4"))
    assert guide_value("valve.margin", known, "wear").lower == Decimal("1.2")
    thin = Known("E", stem_mm=Decimal(7), nominal=Decimal("1.0"))
    assert guide_value("valve.margin", thin, "wear").lower == Decimal("0.7")


def published(name, *keys):
    """Every published row of that characteristic that has all these figures."""
    return [r for r in LIMITS.values() if r["characteristic"] == name and all(k in r for k in keys)]


def test_flatness_and_its_tighter_figure_for_a_short_line_lie_among_the_published():
    rows = published("head.flatness", "max_mm")
    whole = guide_value("head.flatness", Known("head"), "wear").upper
    span = guide_value("head.flatness", Known("head", span_mm=Decimal(150)), "wear").upper
    assert min(r["max_mm"] for r in rows) <= span < whole <= max(r["max_mm"] for r in rows)
    assert span == next(r["max_mm"] for r in rows if "over_mm" in r)


@pytest.mark.parametrize("row", published("seat.width", "new_mm"), ids=lambda row: row["id"])
def test_a_guide_value_for_the_width_condemns_no_published_new_seat_outright(row):
    for side in ("I", "E") if row["side"] in {"both", "not said"} else (row["side"],):
        limit = guide_value("seat.width", Known(side), "wear")
        assert limit.lower <= row["new_mm"][1], side
        assert limit.upper >= row["new_mm"][0], side


def test_guide_values_for_the_margin_lie_among_the_published():
    least = [row["min_mm"] for row in published("valve.margin", "min_mm")]
    for stem_mm in ("5.5", "7", "8", "11"):
        for side in ("I", "E"):
            limit = guide_value("valve.margin", Known(side, stem_mm=Decimal(stem_mm)), "wear")
            assert min(least) <= limit.lower <= max(least), (stem_mm, side)


@pytest.mark.parametrize(
    "row", published("spring.free_length", "new_mm", "min_mm"), ids=lambda row: row["id"]
)
def test_makers_let_a_spring_get_about_as_short(row):
    new = row["new_mm"][0]
    limit = guide_value("spring.free_length", Known("I", nominal=new), "wear")
    assert abs(limit.lower - row["min_mm"]) / new <= Decimal("0.012")


def test_a_load_may_be_lost_as_tm_9_2815_247_34_prints_and_no_more_than_makers_allow():
    lost = {
        height: guide_value("spring.load", Known("I", nominal=Decimal(100), height=height), "wear")
        for height in ("open", "fitted")
    }
    printed = [row["max_loss_percent"] for row in published("spring.load", "max_loss_percent")]
    assert {100 - each.lower for each in lost.values()} == set(printed)
    for row in published("spring.load", "new_N", "min_N"):
        most = 100 * (1 - row["min_N"] / row["new_N"][0])
        assert min(printed) - Decimal("0.4") <= most <= 13, row["id"]


def test_fitted_height_tip_shim_and_stem_wear_are_no_looser_than_any_published():
    fitted = guide_value("spring.fitted_height", Known("I", nominal=Decimal(40)), "wear")
    (printed,) = published("spring.fitted_height", "plus_minus_mm")
    assert fitted.upper - 40 == 40 - fitted.lower <= printed["plus_minus_mm"]
    tip = guide_value("valve.length", Known("I", nominal=Decimal(125)), "wear")
    for row in published("valve.length", "new_mm", "min_mm"):
        assert 125 - tip.lower <= row["new_mm"][0] - row["min_mm"], row["id"]
    assert shim_most_mm() <= min(row["max_mm"] for row in published("spring.shim", "max_mm"))
    (wear,) = published("valve.stem_wear", "max_mm")
    assert stem_wear_most_mm() <= wear["max_mm"]
