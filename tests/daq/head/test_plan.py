"""Plans as TOML: every fault a sentence with file, line and key; inches; what is asked about."""

import json
from decimal import Decimal
from pathlib import Path

import pytest

from daq.head.errors import RefusedError
from daq.head.plan import Place, Plan, Target, plan_from_toml, shipped_plans, unasked
from daq.head.ruling import ruling

FIXTURES = Path(__file__).parents[3] / "fixtures"
PLAN = """\
name = "invented"
title = "Invented head"
source = "invented for a test"

[head]
cylinders = 2

[[steps]]
characteristic = "valve.stem_diameter"
depths_mm = ["12", "30"]
directions = ["along", "across"]
nominal_mm = "6.97"
window_mm = "0.5"

[[steps]]
characteristic = "guide.clearance_max"
limit = { upper = "0.10", kind = "maker", source = "invented" }

[[steps]]
characteristic = "head.flatness"
[[steps.at]]
spot = "lengthwise"
[[steps.at]]
spot = "across"
span_mm = "150"

[[steps]]
characteristic = "spring.load"
[[steps.at]]
length_mm = "38.0"
height = "fitted"
nominal_n = "260"
"""


def test_a_plan_is_read_in_order():
    plan = plan_from_toml(PLAN, "plan.toml")
    assert plan.head.positions == ("1I", "1E", "2I", "2E")
    assert len(plan.targets) == 4 * 4 + 2 + 4
    assert plan.targets[16] == Target("head.flatness", "head", Place(spot="lengthwise"))
    assert str(plan.targets[-1].place) == "at 38.0 mm"


@pytest.mark.parametrize(
    ("old", "new", "line", "said"),
    [
        ("cylinders = 2", "cylinders = 20", 6, "head.cylinders: Input should be less"),
        ('"valve.stem_diameter"', '"valve.colour"', 8, "there is no characteristic"),
        ("window_mm", "window", 13, "steps.0.window is not a key"),
        ('depths_mm = ["12", "30"]', 'depths_mm = ["12", "x"]', 10, "steps.0.depths_mm.1"),
        ('nominal_mm = "6.97"\n', "", 8, "given together"),
        ('upper = "0.10"', 'uper = "0.10"', 17, "steps.1.limit.uper is not a key"),
        ('upper = "0.10"', 'upper = "100"', 17, "µm typed as mm"),
        ('upper = "0.10"', 'upper = "2.54"', 17, "a figure in another unit"),
        ('upper = "0.10"', 'upper = "0.004"', 17, "inch for mm"),
        ('upper = "0.10"', 'lower = "0.10"', 17, "minimum printed for maximum"),
        ('upper = "0.10"', 'upper = "-0.10"', 17, "guide − stem, not stem − guide"),
        ('length_mm = "38.0"', 'spot = "short"', 27, "measured at a length"),
        ('spot = "across"', 'spot = "lengthwise"', 19, "a place stands twice"),
        ('spot = "across"', "", 23, "either 'spot' or 'length_mm'"),
        ('source = "invented for a test"', "", 1, "source: Field required"),
        ("[head]", "[head", 5, "not TOML"),
    ],
)
def test_a_fault_names_file_line_and_key(old, new, line, said):
    assert old in PLAN
    with pytest.raises(RefusedError, match=r"plan\.toml") as caught:
        plan_from_toml(PLAN.replace(old, new, 1), "plan.toml")
    assert said in str(caught.value)
    assert f"line {line}" in str(caught.value)


def test_an_unusual_limit_is_kept_with_a_name():
    kept = PLAN.replace('upper = "0.10"', 'upper = "0.6", acknowledged_by = "A. Person"')
    plan = plan_from_toml(kept, "plan.toml")
    held = ruling(plan, Target("guide.clearance_max", "1I", None))
    assert held is not None
    assert held.said_by == "invented (not usual, kept by A. Person)"


@pytest.mark.parametrize(
    ("name", "upper"), [("valve.stem_runout", "30"), ("seat.runout", "0.001"), ("x", "")]
)
def test_a_runout_that_cannot_be_is_refused_whoever_says_so(name, upper):
    if name == "x":
        name, upper = "valve.face_runout", "0.6"
    limit = {"upper": upper, "kind": "maker", "source": "x", "acknowledged_by": "A. Person"}
    given = {"characteristic": name, "limit_new": limit}
    with pytest.raises(ValueError, match=r"cannot be one; usual are 0.03 to 0.05 mm"):
        Plan.model_validate(
            {
                "name": "p",
                "title": "t",
                "source": "s",
                "head": {"cylinders": 1},
                "steps": [given],
            }
        )


def test_an_inch_plan_is_the_same_plan():
    inch = (
        PLAN.replace('depths_mm = ["12", "30"]', 'depths_in = ["0.5", "1.25"]')
        .replace('nominal_mm = "6.97"', 'nominal_in = "0.2744"')
        .replace('window_mm = "0.5"', 'window_in = "0.02"')
        .replace('upper = "0.10"', 'upper_in = "0.004"')
        .replace('name = "invented"', 'name = "invented"\nunit = "in"')
    )
    plan = plan_from_toml(inch, "plan.toml")
    step = plan.step("valve.stem_diameter")
    assert plan.unit == "in"
    assert step is not None
    assert step.depths_mm == (Decimal("12.7"), Decimal("31.75"))
    assert step.nominal_mm == Decimal("6.96976")
    assert plan.step("guide.clearance_max").limit.upper == Decimal("0.1016")


def test_both_units_of_one_key_are_one_too_many():
    twice = PLAN.replace('nominal_mm = "6.97"', 'nominal_mm = "6.97"\nnominal_in = "0.27"')
    with pytest.raises(RefusedError, match="'nominal_mm' and 'nominal_in' are both given"):
        plan_from_toml(twice, "plan.toml")


@pytest.mark.parametrize("name", sorted(shipped_plans()))
def test_every_shipped_plan_says_that_it_is_invented_and_raises_no_doubt(name):
    plan = shipped_plans()[name]
    assert "invented" in f"{plan.title} {plan.source}".lower()
    assert plan.doubts == []
    assert Plan.model_validate(plan.model_dump(mode="json", exclude_none=True)) == plan


def test_the_schema_of_a_plan_can_be_read_by_an_editor():
    schema = Plan.model_json_schema()
    assert set(schema["required"]) == {"name", "title", "source", "head", "steps"}
    assert {"Step", "At", "Limit", "Layout"} <= set(schema["$defs"])


def test_a_plan_of_the_first_jobs_is_still_read():
    stored = json.loads((FIXTURES / "plans/four-by-two-first.json").read_text())
    plan = Plan.model_validate(stored)
    assert plan == shipped_plans()["four-by-two"]
    assert len(plan.targets) == 8 * (1 + 6 + 6 + 1)
    assert ruling(plan, Target("guide.clearance_max", "1I", None)).limit.kind == "guide"


def test_a_stored_plan_is_read_whatever_would_be_asked_about_it_today():
    stored = json.loads((FIXTURES / "plans/four-by-two-first.json").read_text())
    step = next(s for s in stored["steps"] if s["characteristic"] == "guide.clearance_max")
    step["limit_exhaust"]["upper"] = "2.54"
    plan = Plan.model_validate(stored)
    assert len(plan.doubts) == 1
    with pytest.raises(RefusedError, match="is not usual"):
        unasked(plan)
