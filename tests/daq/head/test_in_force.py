"""What a plan is judged by before anything is measured."""

from decimal import Decimal

from daq.head.in_force import in_force
from daq.head.plan import Plan, shipped_plans
from daq.head.ruling import ruling

INVENTED = {
    "name": "invented",
    "title": "Invented single",
    "source": "invented for a test",
    "head": {"cylinders": 1},
}


def test_each_limit_is_said_once_with_the_valves_it_holds_for():
    limit = {"kind": "shop", "source": "invented"}
    steps = [
        {"characteristic": "valve.look"},
        {
            "characteristic": "valve.stem_runout",
            "limit_intake": {"upper": "0.10", **limit},
            "limit_exhaust": {"upper": "0.13", **limit},
        },
        {"characteristic": "seat.runout", "limit": {"upper": "0.04", **limit}},
    ]
    found = in_force(Plan.model_validate({**INVENTED, "steps": steps}))
    assert [(each.characteristic, each.side, each.limit.upper) for each in found] == [
        ("valve.look", None, None),
        ("valve.stem_runout", "I", Decimal("0.10")),
        ("valve.stem_runout", "E", Decimal("0.13")),
        ("seat.runout", None, Decimal("0.04")),
    ]


def test_a_step_without_a_limit_is_judged_by_its_guide_value():
    step = {"characteristic": "valve.stem_runout"}
    (found,) = in_force(Plan.model_validate({**INVENTED, "steps": [step]}))
    assert (found.side, found.place, found.limit.kind) == (None, None, "guide")


def test_it_is_what_every_target_of_a_shipped_plan_is_judged_by():
    for plan in shipped_plans().values():
        held = in_force(plan)
        for target in plan.targets:
            mine = [
                each.limit
                for each in held
                if each.characteristic == target.characteristic
                and each.side in {None, target.position.lstrip("0123456789")[:1]}
                and each.place in {None, target.place}
            ]
            rule = ruling(plan, target)
            assert mine == ([] if rule is None else [rule.limit]), target
