"""What may still be ground: the geometry against two drawn cones, the limits at their edge."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.head.remaining_stock import CHANGES, Height, after, along_axis_mm, left
from daq.metrology.conformity import Conformity, judge


@given(st.floats(10, 60), st.floats(0.001, 1.0), st.floats(5, 20))
def test_a_ground_cone_sinks_as_two_drawn_lines_do(angle_deg, stock_mm, radius_mm):
    # The seat in section: a line through (0, 0) that rises with the angle; ground, it lies
    # `stock` further down along its normal. Both at the same radius: how far is it down?
    slope = math.tan(math.radians(angle_deg))
    normal = (math.sin(math.radians(angle_deg)), -math.cos(math.radians(angle_deg)))
    foot = (stock_mm * normal[0], stock_mm * normal[1])
    before = slope * radius_mm
    ground = foot[1] + slope * (radius_mm - foot[0])
    assert along_axis_mm(stock_mm, angle_deg) == pytest.approx(before - ground, rel=1e-9)


def test_known_angles():
    # cos 45° and cos 30° from any table of functions.
    assert along_axis_mm(0.1, 45) == pytest.approx(0.141421, abs=1e-6)
    assert along_axis_mm(0.1, 30) == pytest.approx(0.115470, abs=1e-6)
    for angle in (0.0, -45.0, 90.0, math.nan):
        with pytest.raises(ValueError, match="seat angle"):
            along_axis_mm(0.1, angle)


def heights(**changes):
    found = {
        "valve.recess": Height(0.90, 0.01, 0.60, 1.40),
        "spring.fitted_height": Height(40.2, 0.05, 39.5, 40.5, shim_mm=1.5),
        "valve.margin": Height(1.1, 0.02, 0.8, None),
        "valve.length": Height(110.10, 0.01, 110.0, None),
    }
    return {name: changes.get(name, height) for name, height in found.items()} | changes


def test_stock_is_depth_after_less_depth_before():
    # TM 10-3930-664-24: grind depth GD = D1 − D, stop at 0.010 in; D1 within 0.0389 to 0.0598 in.
    before, most = 0.0389 * 25.4, 0.0598 * 25.4
    found = left("seat", heights(**{"valve.recess": Height(before, 0.0, 0.0389 * 25.4, most)}))
    assert found.room_mm == pytest.approx(most - before)
    ground = after(heights(**{"valve.recess": Height(before, 0.0, None, most)}), {"seat": 0.254})
    assert ground["valve.recess"] - before == pytest.approx(0.254)


def test_the_first_limit_stops_the_cut():
    face = left("face", heights())
    assert face.stopped_by == "valve.margin"
    assert face.room_mm == pytest.approx(0.3 - 1.645 * 0.02, abs=1e-4)
    seat = left("seat", heights())
    assert seat.stopped_by == "valve.recess"
    assert seat.room_mm == pytest.approx(0.5 - 1.645 * 0.01, abs=1e-4)
    assert left("tip", heights()).room_mm == pytest.approx(0.1 - 1.645 * 0.01, abs=1e-4)


@pytest.mark.parametrize("cut", ["seat", "face", "tip"])
def test_the_whole_room_ends_proven_in_and_a_little_more_does_not(cut):
    room = left(cut, heights()).room_mm

    def proven(amount_mm):
        changed = after(heights(), {cut: amount_mm})
        return all(
            judge(
                changed[name],
                height.u_mm,
                None if sign > 0 else height.lower_mm,
                None if sign < 0 else height.upper_mm + height.shim_mm,
            )
            is Conformity.PROVEN_IN
            for name, sign in CHANGES[cut].items()
            for height in [heights()[name]]
        )

    assert proven(room - 1e-6)
    assert not proven(room + 1e-6)


def test_without_the_makers_recess_nothing_is_promised():
    found = left("seat", heights(**{"valve.recess": Height(0.9, 0.01, None, None)}))
    assert (found.room_mm, found.stopped_by) == (None, "valve.recess")
    unmeasured = {name: each for name, each in heights().items() if name != "valve.margin"}
    assert left("face", unmeasured).room_mm is None
    assert "not measured" in left("face", unmeasured).bounds[2].text


def test_what_is_used_up_is_known_even_when_the_rest_is_not():
    gone = heights(**{"valve.margin": Height(0.7, 0.02, 0.8, None)})
    del gone["valve.recess"]
    assert (left("face", gone).room_mm, left("face", gone).stopped_by) == (0.0, "valve.margin")


def test_cuts_add_up():
    changed = after(heights(), {"seat": 0.1, "face": 0.05, "tip": 0.02})
    assert changed["valve.recess"] == pytest.approx(1.05)
    assert changed["spring.fitted_height"] == pytest.approx(40.35)
    assert changed["valve.margin"] == pytest.approx(1.05)
    assert changed["valve.length"] == pytest.approx(110.08)
