"""What is unsure names what would settle it: more turns, a finer gauge, a ring check."""

import pytest

from daq.head.deciding.judged import judged
from daq.head.deciding.settling import settles
from daq.head.measurement import Status
from daq.metrology.conformity import Conformity, judge


def near(measured, name, value, budget, **changes):
    """One value near its limit, with that budget."""
    made = measured({(name, "3E"): value})
    m = next(m for m in made.view.measurements if (m.characteristic, m.position) == (name, "3E"))
    lines = [{"name": line, "u": u, "evaluation": "B", "note": ""} for line, u in budget]
    return judged([m.model_copy(update={"detail": {"budget": lines}} | changes)])


@pytest.mark.parametrize(
    ("name", "value", "largest", "said"),
    [
        ("valve.stem_runout", "0.0295", "noise", "more turns, slowly and one way"),
        ("valve.stem_runout", "0.0295", "resolution", "a gauge with a finer step"),
        ("valve.stem_runout", "0.0295", "gauge", "a smaller error limit"),
        ("valve.stem_runout", "0.0295", "repeatability", "more turns"),
        ("valve.margin", "0.751", "reading by eye", "a gauge with a finer step"),
        ("valve.recess", "1.399", "temperature of part", "one temperature, and that noted"),
        ("valve.margin", "0.751", "setting block", "read the gauge block again"),
        ("valve.margin", "0.751", "reading on the ring", "read the setting ring again"),
        ("guide.clearance_max", "0.129", "bore", "a ring check first, then more swings"),
        ("guide.clearance_max", "0.129", "stem", "a finer micrometer, its zero checked"),
        ("seat.leak", "0.199", "fit", "a longer test on a clean seat"),
    ],
)
def test_the_largest_line_of_the_budget_says_what_helps(measured, name, value, largest, said):
    changed = "seat.leak" if name == "guide.clearance_max" else name
    made = near(measured, changed, value if changed == name else "0.199", [("small", "0.0001")])
    if changed != name:
        clearance = next(
            m
            for m in measured().view.measurements
            if (m.characteristic, m.position) == (name, "3E")
        )
        made = judged([clearance])
    last = made.last.model_copy(
        update={"detail": {"budget": [{"name": largest, "u": "0.002"}, {"name": "x", "u": "0"}]}}
    )
    assert said in settles(judged([last]))


def test_the_uncertainty_that_is_asked_for_just_settles_it(measured):
    found = near(measured, "valve.stem_runout", "0.0294", [("resolution", "0.001")])
    assert found.status is Status.INDETERMINATE
    assert "an uncertainty below 0.00072 mm would settle it" in settles(found)
    assert judge(0.0294, 0.00072 / 2, None, 0.03) is Conformity.PROVEN_IN
    assert judge(0.0294, 0.00074 / 2, None, 0.03) is Conformity.NEITHER


def test_what_is_not_complete_is_done_again(measured):
    unfinished = {"complete": False, "status": Status.INDETERMINATE}
    turn = near(measured, "valve.stem_runout", "0.010", [], **unfinished)
    assert "a turn and a quarter at least" in settles(turn)
    held = near(measured, "valve.recess", "0.900", [], **unfinished)
    assert "held still for longer" in settles(held)


@pytest.mark.parametrize(
    ("reason", "said"),
    [
        ("the zero of bore gauge moved by 0.007 mm between two checks in ring 7", "a ring check"),
        ("the head is 9 K warmer; let them stand together before this", "temperatures noted"),
        ("the fluid has to stay for 300 s; watched for 60 s", "watched for as long as is asked"),
    ],
)
def test_why_it_is_not_complete_says_what_to_do(measured, reason, said):
    unfinished = {"complete": False, "status": Status.INDETERMINATE, "reason": reason}
    assert said in settles(near(measured, "valve.recess", "0.900", [], **unfinished))
