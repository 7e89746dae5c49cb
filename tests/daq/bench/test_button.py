"""A gauge that speaks on its button only: each press is the next value, and none is lost unsaid."""

from decimal import Decimal

import pytest

from daq.bench import Phase
from daq.head.instrument import Instrument
from daq.head.plan import Plan
from drivers.reading import Reading, Unit, on_time_grid
from tests.generators.desk import Desk

MICROMETER = Instrument("micrometer", "G-2", 0.001, 0.001, frozenset({"valve.stem_diameter"}))
PLAN = Plan.model_validate(
    {
        "name": "stems-only",
        "title": "Invented single, stems only",
        "source": "invented for a test",
        "head": {"cylinders": 1},
        "steps": [
            {
                "characteristic": "valve.stem_diameter",
                "depths_mm": ["12", "30"],
                "directions": ["along", "across"],
                "nominal_mm": "6.97",
                "window_mm": "0.5",
                "limit": {"lower": "6.95", "kind": "guide", "source": "invented"},
            }
        ],
    }
)


class Hand:
    """Presses the gauge's button; the bench's clock goes on as it does in the loop."""

    def __init__(self):
        self.desk = Desk((MICROMETER,), plan=PLAN)
        self.job = self.desk.open()

    def say(self, value, *, after_s, commit=True):
        desk = self.desk
        desk.t_s += after_s
        reading = Reading(
            *(MICROMETER.name, "", on_time_grid(desk.t_s), value, Unit.MM), commit=commit
        )
        desk.write(desk.bench.feed(MICROMETER.name, [reading]))
        desk.t_s += 0.1
        desk.write(desk.bench.tick(desk.t_s))

    def values(self):
        return [Decimal(each.value) for each in self.desk.measurements(self.job)]


@pytest.fixture
def hand():
    return Hand()


def test_every_press_is_the_next_value_in_its_place(hand):
    sent = [6.961, 6.962, 6.963, 6.964, 6.961, 6.961, 6.967, 6.968]
    places = [(each.position, each.place) for each in hand.desk.records[hand.job].remaining]
    for value in sent:
        hand.say(value, after_s=0.6)
    kept = hand.desk.measurements(hand.job)
    assert [float(each.value) for each in kept] == sent
    assert [(each.position, each.place) for each in kept] == places


def test_a_press_right_after_another_is_not_taken_and_said(hand):
    hand.say(6.961, after_s=1.0)
    hand.say(6.962, after_s=0.2)
    assert hand.values() == [Decimal("6.961")]
    assert hand.desk.bench.progress().message.startswith("Not taken: it came too soon")
    hand.say(6.963, after_s=0.6)
    assert hand.values() == [Decimal("6.961"), Decimal("6.963")]


def test_a_stream_that_was_said_to_speak_on_its_button_fills_nothing(hand):
    for n in range(40):
        hand.say((6.961, 6.962, 6.963)[n % 3], after_s=0.1)
    assert len(hand.values()) == 1


def test_a_press_that_cannot_be_of_the_part_is_said(hand):
    hand.say(25.4, after_s=1.0)
    assert hand.values() == []
    message = hand.desk.bench.progress().message
    assert message == "Not taken: 25.4 mm is not between 6.47 and 7.47, where this lies."
    hand.say(6.961, after_s=1.0)
    assert hand.values() == [Decimal("6.961")]
    assert hand.desk.bench.progress().message == "Take it out."


def test_the_button_of_a_gauge_that_streams_goes_on_and_takes_nothing(hand):
    hand.say(6.961, after_s=1.0)
    for _ in range(20):
        hand.say(6.961, after_s=0.05, commit=False)
    assert hand.desk.bench.phase is Phase.TAKE_OUT
    hand.say(6.961, after_s=0.6)
    assert hand.desk.bench.phase is Phase.CAPTURING
    assert hand.values() == [Decimal("6.961")]


def test_after_the_last_value_a_press_is_nobodys(hand):
    for n in range(9):
        hand.say(round(6.961 + 0.001 * n, 3), after_s=0.6)
    assert len(hand.values()) == 8
    assert hand.desk.bench.phase is Phase.IDLE
