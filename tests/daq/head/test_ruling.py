"""Which limit holds: the maker's before a guide value, for wear as found, for new after work."""

from decimal import Decimal

import pytest

from daq.head.changes import Reworked
from daq.head.place import Place
from daq.head.plan import Plan, Target
from daq.head.ruling import ruling
from tests.generators.desk import Desk

MAX = "guide.clearance_max"


def plan(**clearance):
    stem = {"depths_mm": ["12"], "directions": ["along"], "nominal_mm": "6.97", "window_mm": "0.5"}
    bore = {**stem, "nominal_mm": "7.01"}
    limits = {
        key: {"upper": upper, "kind": "maker", "source": "invented"}
        for key, upper in clearance.items()
    }
    return Plan.model_validate(
        {
            "name": "p",
            "title": "t",
            "source": "invented",
            "head": {"cylinders": 1},
            "steps": [
                {"characteristic": "valve.stem_diameter", **stem},
                {"characteristic": "guide.diameter", **bore},
                {"characteristic": MAX, **limits},
            ],
        }
    )


@pytest.mark.parametrize(
    ("clearance", "found", "worked"),
    [
        ({}, ("0.1", "guide", "wear limit"), ("0.055", "guide", "limit for new")),
        ({"limit": "0.09"}, ("0.09", "maker", ""), ("0.09", "maker", "wear limit")),
        (
            {"limit": "0.09", "limit_new": "0.05"},
            ("0.09", "maker", "wear limit"),
            ("0.05", "maker", "limit for new"),
        ),
        ({"limit_new": "0.05"}, ("0.1", "guide", "wear limit"), ("0.05", "maker", "limit for new")),
        # The maker's new is wider than the guide value for wear: it is not asked more of the worn.
        (
            {"limit_new": "0.12"},
            ("0.12", "maker", "limit for new"),
            ("0.12", "maker", "limit for new"),
        ),
        (
            {"limit_new_exhaust": "0.05"},
            ("0.1", "guide", "wear limit"),
            ("0.055", "guide", "limit for new"),
        ),
    ],
)
def test_the_limit_in_force(clearance, found, worked):
    for made_new, expected in (("", found), ("guide: renewed", worked)):
        upper, kind, said = expected
        held = ruling(plan(**clearance), Target(MAX, "1I", None), made_new=made_new)
        assert (held.limit.upper, held.limit.kind) == (Decimal(upper), kind)
        assert held.said_by.startswith(said)
        if made_new:
            assert made_new in held.said_by
        assert ("not the maker's" in held.said_by) == (kind == "guide")


def test_a_wear_limit_that_stands_in_for_new_says_so():
    held = ruling(plan(limit="0.09"), Target(MAX, "1I", None), made_new="valve: replaced")
    assert held.said_by == (
        "wear limit; invented (valve: replaced, but no limit for new is entered)"
    )


def test_the_limit_for_new_holds_after_work_and_at_that_position_only():
    from daq.bench import Rework

    desk = Desk(plan=plan(limit="0.09", limit_new="0.05"))
    job = desk.open()
    where = Place(depth_mm=Decimal(12), direction="along")

    def measure(position, bore):
        desk.key(job, "valve.stem_diameter", position, "6.9700", where)
        desk.key(job, "guide.diameter", position, bore, where)

    def clearance(position):
        found = [m for m in desk.measurements(job) if m.characteristic == MAX]
        return next(m for m in reversed(found) if m.position == position)

    measure("1I", "7.0400")
    measure("1E", "7.0400")
    assert clearance("1I").limits.upper == Decimal("0.09")
    assert clearance("1I").status == "PASS"
    desk.ask(Rework(job, Reworked(position="1I", part="guide", what="renewed", act="renewed")))
    measure("1I", "7.0300")
    assert clearance("1I").limits.upper == Decimal("0.05")
    assert clearance("1I").limit_source == "limit for new; invented (guide: renewed)"
    assert clearance("1I").status == "FAIL"
    assert clearance("1E").limits.upper == Decimal("0.09")
