"""Clearances against published examples; the source stands beside each row of the fixture."""

import tomllib
from decimal import Decimal
from pathlib import Path

import pytest

from daq.head.clearance import clearances
from daq.head.measurement import Came, Measurement, Status
from daq.head.plan import Place, Plan

FIXTURE = Path(__file__).parents[2] / "fixtures/trade/clearances.toml"
WORKED = tomllib.loads(FIXTURE.read_text())["worked"]
MM_PER = {"mm": Decimal(1), "in": Decimal("25.4")}


def plan() -> Plan:
    places = {"depths_mm": ["5", "25"], "directions": ["along"]}
    return Plan.model_validate(
        {
            "name": "published",
            "title": "A published pair",
            "source": "see fixture",
            "head": {"cylinders": 1},
            "steps": [
                {"characteristic": "valve.stem_diameter", **places},
                {"characteristic": "guide.diameter", **places},
                {"characteristic": "guide.clearance_max"},
                {"characteristic": "guide.clearance_min"},
                {"characteristic": "guide.clearance_mean"},
            ],
        }
    )


def measured(name: str, depth: str, value: Decimal) -> Measurement:
    return Measurement(
        id=f"{name} {depth}",
        position="1I",
        characteristic=name,
        place=Place(depth_mm=Decimal(depth), direction="along"),
        value=value,
        unit="mm",
        uncertainty=Decimal("0.002"),
        k=Decimal(2),
        status=Status.NOT_ANALYZED,
        complete=True,
        came=Came.KEYED,
        measured_at="2026-01-01T00:00:00.000Z",
    )


@pytest.mark.parametrize("row", WORKED, ids=lambda row: row["id"])
def test_published_band(row):
    factor = MM_PER[row["unit"]]
    bores = [Decimal(str(each)) * factor for each in row["guide"]]
    stems = [Decimal(str(each)) * factor for each in row["stem"]]
    standing = [
        measured("guide.diameter", "5", bores[0]),
        measured("guide.diameter", "25", bores[1]),
        measured("valve.stem_diameter", "5", stems[0]),
        measured("valve.stem_diameter", "25", stems[1]),
    ]
    found = {m.characteristic: m.value for m in clearances(plan(), "1I", standing)}
    least, most = (Decimal(str(each)) * factor for each in row["result"])
    half_a_written_step = Decimal("0.00005")
    assert abs(found["guide.clearance_min"] - least) <= half_a_written_step
    assert abs(found["guide.clearance_max"] - most) <= half_a_written_step
    assert found["guide.clearance_min"] >= 0, "guide − stem, never stem − guide"
