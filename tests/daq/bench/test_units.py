"""A gauge without `measures` may measure anything, but only in the unit that it is asked for in."""

import pytest

from daq.head.instrument import Instrument
from daq.head.plan import Plan
from drivers.reading import Reading, Unit, on_time_grid
from tests.generators.desk import Desk

ANY = Instrument("any gauge", "G-9", 0.001, 0.001)
PLAN = Plan.model_validate(
    {
        "name": "loads-only",
        "title": "Invented single, springs pressed",
        "source": "invented for a test",
        "head": {"cylinders": 1},
        "steps": [
            {
                "characteristic": "spring.load",
                "at": [{"length_mm": "38.0", "height": "fitted", "nominal_n": "260"}],
            }
        ],
    }
)


@pytest.mark.parametrize(("unit", "many"), [(Unit.MM, 0), (Unit.MBAR, 0), (Unit.NEWTON, 1)])
def test_what_is_read_in_another_unit_is_no_value(unit, many):
    desk = Desk((ANY,), plan=PLAN)
    job = desk.open()
    for count in range(200):
        desk.t_s += 0.05
        # It comes to rest, as a load does when the stop is reached.
        value = min(257.0, 200.0 + 2 * count)
        reading = Reading(ANY.name, "", on_time_grid(desk.t_s), value, unit)
        desk.write(desk.bench.feed(ANY.name, [reading]))
    assert len(desk.measurements(job)) == many
