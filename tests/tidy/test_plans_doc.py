"""docs/plans.md: its plan is a plan, its table fills it, and what it says is refused is refused."""

import re
from decimal import Decimal
from pathlib import Path

import pytest

from daq.head.errors import RefusedError
from daq.head.limits_csv import COLUMNS, with_limits
from daq.head.plan import Target, plan_from_toml
from daq.head.ruling import ruling

DOC = (Path(__file__).parents[2] / "docs/plans.md").read_text()
TOML = re.search(r"```toml\n(.*?)```", DOC, re.DOTALL)[1]
CSV = re.search(r"```csv\n(.*?)```", DOC, re.DOTALL)[1]
CLEARANCE = Target("guide.clearance_max", "1E", None)


def test_the_plan_of_the_document_is_one():
    plan = plan_from_toml(TOML, "docs/plans.md")
    assert plan.head.positions == ("1I", "1E", "2I", "2E")
    worn, new = ruling(plan, CLEARANCE), ruling(plan, CLEARANCE, made_new="guide: renewed")
    assert (worn.limit.upper, new.limit.upper) == (Decimal("0.13"), Decimal("0.08382"))
    assert ruling(plan, Target("guide.clearance_max", "1I", None)).limit.kind == "guide"


def test_the_table_of_the_document_fills_it():
    plan = plan_from_toml(TOML, "docs/plans.md")
    runout = '\n[[steps]]\ncharacteristic = "valve.stem_runout"\n'
    found = with_limits(plan_from_toml(TOML + runout, "docs/plans.md"), CSV)
    assert (found.taken, found.bad) == (3, ())
    bad = with_limits(plan, CSV).bad
    assert [row.line for row in bad] == [4]
    assert "does not ask for valve.stem_runout" in bad[0].text
    assert set(CSV.splitlines()[0].split(",")) <= COLUMNS


@pytest.mark.parametrize("upper", ["13", "0.0051", "3.3"])
def test_what_is_not_usual_is_asked_about(upper):
    with pytest.raises(RefusedError, match="line"):
        plan_from_toml(TOML.replace('upper = "0.13"', f'upper = "{upper}"'), "plan.toml")
