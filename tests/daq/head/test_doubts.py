"""Limits that are asked about because of what else stands in the plan."""

import pytest

from daq.head.doubts import doubts
from daq.head.step import Step


def step(name, **given):
    limits = {
        key: {"kind": "maker", "source": "invented", **value} if isinstance(value, dict) else value
        for key, value in given.items()
    }
    return Step.model_validate({"characteristic": name, **limits})


def texts(*steps):
    return [doubt.text for doubt in doubts(steps)]


def test_a_new_band_of_two_micrometres_is_a_misprint():
    """0.028 to 0.030 mm is printed so in TM 10-3930-653-14&P."""
    least = step("guide.clearance_min", limit={"lower": "0.028"})
    most = step("guide.clearance_max", limit={"upper": "0.10"}, limit_new={"upper": "0.030"})
    said = texts(least, most)
    assert len(said) == 2
    assert all("a band of 0.002 mm" in each for each in said)
    kept = step(
        "guide.clearance_max",
        limit={"upper": "0.10"},
        limit_new={"upper": "0.030", "acknowledged_by": "A. Person"},
    )
    assert texts(least, kept) == []


def test_a_new_band_narrower_than_its_own_tolerances_is_asked_about():
    stem = step("valve.stem_diameter", limit_new={"lower": "7.960", "upper": "7.975"})
    guide = step("guide.diameter", limit_new={"lower": "8.000", "upper": "8.015"})
    least = step("guide.clearance_min", limit={"lower": "0.030"})
    most = step("guide.clearance_max", limit_new={"upper": "0.050"})
    assert "narrower than the 0.030 mm" in texts(stem, guide, least, most)[0]
    right = step("guide.clearance_max", limit_new={"upper": "0.060"})
    assert texts(stem, guide, least, right) == []


def test_a_wear_limit_is_never_tighter_than_that_for_new():
    swapped = step("guide.clearance_max", limit={"upper": "0.05"}, limit_new={"upper": "0.10"})
    assert "0.05 when worn is tighter than 0.10 for new; swapped?" in texts(swapped)[0]
    margin = step(
        "valve.margin", limit_exhaust={"lower": "1.2"}, limit_new_exhaust={"lower": "0.7"}
    )
    assert "lower 1.2 when worn is tighter" in texts(margin)[0]
    right = step("valve.recess", limit={"lower": "0.6", "upper": "1.4"}, limit_new={"upper": "1.1"})
    assert texts(right) == []


def test_an_inch_figure_taken_for_the_most_clearance_is_asked_about():
    """0.006 in is 0.15 mm; 0.006 mm is no clearance that is printed as the most."""
    assert "inch for mm?" in texts(step("guide.clearance_max", limit={"upper": "0.006"}))[0]
    assert texts(step("guide.clearance_min", limit={"lower": "0.006"})) == []


@pytest.mark.parametrize("key", ["limit", "limit_new"])
def test_exhaust_runs_hotter_and_never_takes_less(key):
    swapped = {f"{key}_intake": {"upper": "0.13"}, f"{key}_exhaust": {"upper": "0.10"}}
    assert "sides swapped?" in texts(step("guide.clearance_max", **swapped))[0]
    right = {f"{key}_intake": {"upper": "0.10"}, f"{key}_exhaust": {"upper": "0.13"}}
    assert texts(step("guide.clearance_max", **right)) == []


def test_a_wear_column_larger_than_the_load_is_a_digit_lost():
    """A load of 1.4 lb with a wear column of 8.14 is printed so in TM 9-2815-247-34."""
    limit = {"lower": "10", "kind": "maker", "source": "invented"}
    at = [{"length_mm": "39.6", "nominal_n": "362", "limit": limit}]
    assert "a digit lost?" in texts(step("spring.load", at=at))[0]
    limit["lower"] = "326"
    assert texts(step("spring.load", at=at)) == []


def test_leak_needs_its_volume_and_a_load_its_length():
    with pytest.raises(ValueError, match=r"seat\.leak needs 'volume_l'"):
        step("seat.leak")
    with pytest.raises(ValueError, match="give 'at' with a 'length_mm'"):
        step("spring.load")
