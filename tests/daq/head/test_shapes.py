"""Wear, taper, ovality, bell mouth of stems and guides; rate and lean of springs. Invented."""

from decimal import Decimal

import pytest

from daq.head.place import Place
from tests.generators.desk import Desk

STEM, BORE = "valve.stem_diameter", "guide.diameter"


@pytest.fixture
def desk():
    return Desk(plan="four-by-two-whole")


def key_all(desk, job, name, position, sizes, depths):
    """sizes: along and across at each depth."""
    for depth, pair in zip(depths, sizes, strict=True):
        for direction, size in zip(("along", "across"), pair, strict=True):
            place = Place(depth_mm=Decimal(depth), direction=direction)
            desk.key(job, name, position, size, place)


def figures(desk, job, part):
    [shape] = [each for each in desk.view(job).shapes if each.part == part]
    return {each.name: float(each.value) for each in shape.figures}, shape


def test_a_bell_mouthed_oval_guide(desk):
    job = desk.open()
    sizes = (("7.040", "7.030"), ("7.010", "7.008"), ("7.024", "7.020"))
    key_all(desk, job, BORE, "1I", sizes, (6, 22, 38))
    found, shape = figures(desk, job, "guide")
    assert found == {
        "largest": 7.040,
        "smallest": 7.008,
        "wear": 0.032,
        "taper": 0.013,
        "ovality": 0.010,
        "bell mouth": 0.026,
    }
    assert shape.whole
    assert shape.position == "1I"
    assert len(shape.inputs) == 6


def test_an_hourglass_guide_has_a_bell_mouth_below_zero(desk):
    job = desk.open()
    sizes = (("7.010", "7.010"), ("7.030", "7.030"), ("7.010", "7.010"))
    key_all(desk, job, BORE, "1I", sizes, (6, 22, 38))
    assert figures(desk, job, "guide")[0]["bell mouth"] == pytest.approx(-0.020)


def test_a_stem_thinner_in_the_middle_is_worth_a_second_look(desk):
    """Do not reuse a valve whose stem is thinner at mid length: aircraft practice."""
    job = desk.open()
    sizes = (("6.970", "6.970"), ("6.950", "6.950"), ("6.969", "6.969"))
    key_all(desk, job, STEM, "1I", sizes, (12, 30, 48))
    found, shape = figures(desk, job, "valve")
    assert found["wear"] == 0.020
    assert "bell mouth" not in found
    assert shape.note.startswith("thinner at mid length")


def test_a_stem_worn_unevenly_is_noted_as_a_guide_value_says(desk):
    job = desk.open()
    sizes = (("6.970", "6.970"), ("6.960", "6.960"), ("6.925", "6.925"))
    key_all(desk, job, STEM, "1I", sizes, (12, 30, 48))
    found, shape = figures(desk, job, "valve")
    assert found["taper"] == 0.045
    assert shape.note == "worn unevenly by more than 0.025 mm (guide value, not the maker's)"


def test_one_reading_has_no_shape_and_two_are_not_the_whole(desk):
    job = desk.open()
    one = Place(depth_mm=Decimal(12), direction="along")
    other = Place(depth_mm=Decimal(30), direction="along")
    desk.key(job, STEM, "1I", "6.970", one)
    assert desk.view(job).shapes == ()
    desk.key(job, STEM, "1I", "6.968", other)
    assert not figures(desk, job, "valve")[1].whole


def test_a_spring_has_a_rate_and_a_lean(desk):
    """(520 − 260) N over 9 mm; a gap of 1.2 mm on 48 mm is 1.4 degrees (EN 13906-1 geometry)."""
    job = desk.open()
    for length, load in (("38.0", "260"), ("29.0", "520")):
        at = Place(length_mm=Decimal(length))
        desk.key(job, "spring.load", "1I", load, at, unit="N")
    desk.key(job, "spring.free_length", "1I", "48.00")
    desk.key(job, "spring.squareness", "1I", "1.20")
    found, shape = figures(desk, job, "spring")
    assert found["rate"] == pytest.approx(28.89, abs=0.005)
    assert found["lean"] == pytest.approx(1.43, abs=0.005)
    assert shape.whole
