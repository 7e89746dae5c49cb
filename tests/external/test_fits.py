"""Limits and fits through the head's own clearances. Source: ISO 286-1 and -2:2010
(fixtures/references/fits.toml and fits.csv).

The product holds no table of fits. What it must get right is the clearance of a hole and a shaft at
their limits. The file's rows are put together as the standard does it: a letter's fundamental
deviation and a grade's width, each the same throughout a range of nominal sizes.
"""

from decimal import Decimal

import pytest

from daq.head.clearance import clearances
from daq.head.measurement import Came, Measurement, Status
from daq.head.plan import Place, Plan
from tests.external.references import references, rows

ALL = references("fits")
CLEARANCES = [name for name in ALL if name.startswith("clearance_")]
ROWS = rows("fits.csv")
RANGES = {row["nominal_over_up_to_mm"] for row in ROWS}


def holds(bounds: str, nominal_mm: float) -> bool:
    over, up_to = (float(part) for part in bounds.split("-"))
    return over < nominal_mm <= up_to


def range_of(nominal_mm: float) -> str:
    (one,) = [bounds for bounds in RANGES if holds(bounds, nominal_mm)]
    return one


def widths_um(bounds: str) -> dict[str, set[int]]:
    """Widths printed for each grade; a right table has one each."""
    found: dict[str, set[int]] = {}
    for row in ROWS:
        if row["nominal_over_up_to_mm"] == bounds:
            width = int(row["upper_um"]) - int(row["lower_um"])
            found.setdefault(row["tolerance_class"][1:], set()).add(width)
    return found


def fundamental_um(bounds: str) -> dict[str, set[int]]:
    """Deviation nearest to the nominal size for each letter, shafts negative."""
    found: dict[str, set[int]] = {}
    for row in ROWS:
        letter = row["tolerance_class"][0]
        if row["nominal_over_up_to_mm"] == bounds:
            near = row["lower_um"] if letter.isupper() or letter == "m" else row["upper_um"]
            found.setdefault(letter, set()).add(int(near))
    return found


@pytest.mark.parametrize("bounds", sorted(RANGES))
def test_the_table_agrees_with_itself(bounds):
    assert all(len(each) == 1 for each in widths_um(bounds).values())
    assert all(len(each) == 1 for each in fundamental_um(bounds).values())
    for letter, (shaft,) in fundamental_um(bounds).items():
        if letter.upper() in fundamental_um(bounds) and letter.islower() and letter != "m":
            assert fundamental_um(bounds)[letter.upper()] == {-shaft}, "hole mirrors shaft"


def limits_um(tolerance_class: str, nominal_mm: float) -> tuple[int, int]:
    bounds = range_of(nominal_mm)
    (width,) = widths_um(bounds)[tolerance_class[1:]]
    if tolerance_class[0] == "H":
        return 0, width
    (near,) = fundamental_um(bounds)[tolerance_class[0]]
    return near - width, near


PLAN = Plan.model_validate(
    {
        "name": "fit",
        "title": "A hole and a shaft at their limits",
        "source": "see fixture",
        "head": {"cylinders": 1},
        "steps": [
            {"characteristic": name, "depths_mm": ["5", "25"], "directions": ["along"]}
            for name in ("valve.stem_diameter", "guide.diameter")
        ]
        + [{"characteristic": f"guide.clearance_{end}"} for end in ("max", "min", "mean")],
    }
)


def measured(name: str, depth: str, nominal_mm: float, deviation_um: int) -> Measurement:
    return Measurement(
        id=f"{name} {depth}",
        position="1I",
        characteristic=name,
        place=Place(depth_mm=Decimal(depth), direction="along"),
        value=Decimal(str(nominal_mm)) + Decimal(deviation_um) / 1000,
        unit="mm",
        uncertainty=Decimal("0.002"),
        k=Decimal(2),
        status=Status.NOT_ANALYZED,
        complete=True,
        came=Came.KEYED,
        measured_at="2026-01-01T00:00:00.000Z",
    )


@pytest.mark.parametrize("name", CLEARANCES)
def test_clearance(name):
    given = ALL[name].inputs
    nominal_mm = given["nominal_mm"]
    standing = [
        measured(part, depth, nominal_mm, limit)
        for part, tolerance_class in (
            ("guide.diameter", given["hole"]),
            ("valve.stem_diameter", given["shaft"]),
        )
        for depth, limit in zip(("5", "25"), limits_um(tolerance_class, nominal_mm), strict=True)
    ]
    found = {m.characteristic: m.value for m in clearances(PLAN, "1I", standing)}
    end = "guide.clearance_min" if "_min_" in name else "guide.clearance_max"
    ALL[name].check(float(found[end] * 1000))


def test_a_size_on_the_boundary_belongs_below():
    boundary = ALL["boundary_10mm"]
    assert range_of(boundary.inputs["nominal_mm"]) == boundary.value
    assert {*CLEARANCES, "boundary_10mm"} == set(ALL)
