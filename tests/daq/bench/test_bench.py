"""The bench with real captures: no value on the wrong part, nothing shown before written."""

import math
from decimal import Decimal

import numpy as np
import pytest

from daq.bench import Answer, KeyIn, Phase, Press, PutUp, Skip, TakeAgain, Temperature, Void
from daq.head.errors import ConflictError, RefusedError, UnknownError
from daq.head.instrument import Instrument
from daq.head.keyed import Keyed
from daq.head.measurement import Came
from daq.head.plan import Plan, Target
from daq.head.record import EntryKind
from drivers.reading import Reading, Unit, on_time_grid
from tests.generators.desk import Desk

RUNOUT = Instrument("runout indicator", "G-1", 0.001, 0.001, frozenset({"valve.stem_runout"}))
MICROMETER = Instrument("micrometer", "G-2", 0.001, 0.001, frozenset({"valve.stem_diameter"}))
BOTH = (RUNOUT, MICROMETER)


def spin(turns, runout_mm, level_mm=0.4, rate_hz=50.0, turn_s=4.0):
    n = int(turns * turn_s * rate_hz)
    rng = np.random.default_rng(int(turns * 1000) + int(runout_mm * 1e5))
    angle = np.linspace(0, 2 * math.pi * turns, n)
    shape = runout_mm / 2 * np.sin(angle) + 0.0012 * np.sin(2 * angle + 1.0)
    return level_mm + shape + rng.normal(0, 0.0003, n)


def out(seconds=0.6, rate_hz=50.0):
    return [-1.5] * int(seconds * rate_hz)


def test_a_spin_is_kept_and_the_next_opens_when_the_part_left():
    desk = Desk(BOTH)
    job = desk.open()
    assert desk.bench.target == Target("valve.stem_runout", "1I", None)
    desk.play(RUNOUT.name, spin(2.6, 0.020))
    [kept] = desk.measurements(job)
    assert (kept.position, kept.status, kept.complete) == ("1I", "PASS", True)
    assert abs(float(kept.value) - 0.0205) < 0.0015
    assert desk.bench.phase is Phase.TAKE_OUT
    # How it went stays in sight until the part is out, and no later reading becomes part of it.
    seen = desk.bench.progress().capture
    assert seen.done
    assert len(seen.landmarks) >= 3
    assert seen.since_s < seen.until_s
    desk.play(RUNOUT.name, spin(0.5, 0.020))
    assert desk.bench.progress().capture == seen
    desk.play(RUNOUT.name, out())
    assert desk.bench.progress().capture != seen
    assert desk.bench.target.position == "1E"
    assert desk.bench.phase is Phase.CAPTURING


def test_a_valve_left_turning_gives_nothing_to_the_next_position():
    desk = Desk(BOTH)
    job = desk.open()
    heights = spin(7, 0.020)
    first = int(2.6 * 200)
    desk.play(RUNOUT.name, heights[:first])
    assert len(desk.measurements(job)) == 1
    desk.ask(PutUp(job, "valve.stem_runout", "1E"))
    desk.play(RUNOUT.name, heights[first:])
    assert len(desk.measurements(job)) == 1
    desk.play(RUNOUT.name, out())
    desk.play(RUNOUT.name, spin(2.6, 0.012, level_mm=0.31))
    positions = [m.position for m in desk.measurements(job)]
    assert positions == ["1I", "1E"]


def test_a_good_valve_left_in_under_a_press_is_not_kept_by_itself():
    """It turns too little to be seen moving; the same band of heights gives it away."""
    desk = Desk(BOTH)
    job = desk.open()
    heights = spin(7, 0.006)
    first = int(2.6 * 200)
    desk.play(RUNOUT.name, heights[:first])
    desk.play(RUNOUT.name, [heights[first]] * 200)
    assert len(desk.measurements(job)) == 1
    desk.ask(PutUp(job, "valve.stem_runout", "1E"))
    desk.play(RUNOUT.name, heights[first:])
    assert len(desk.measurements(job)) == 1
    assert desk.bench.phase is Phase.NOT_KEPT
    desk.ask(Press())
    second = desk.measurements(job)[1]
    assert "Kept by a press" in second.warnings[-1]


def test_a_valve_that_hardly_moves_is_kept_only_by_who_turned_it():
    desk = Desk(BOTH)
    job = desk.open()
    rng = np.random.default_rng(3)
    breath = 0.0015 * np.sin(np.linspace(0, 2 * math.pi * 12, 3000)) + rng.normal(0, 0.0003, 3000)
    desk.play(RUNOUT.name, 0.4 + breath)  # nobody turns it; its stand breathes
    assert desk.measurements(job) == ()
    assert "hardly moves" in desk.bench.progress().message
    desk.ask(Press())
    [kept] = desk.measurements(job)
    assert (kept.status, kept.complete) == ("PASS", True)
    assert "turned by who pressed" in kept.warnings[-1]


def test_one_touch_and_a_press_prove_nothing_out():
    desk = Desk(BOTH)
    job = desk.open()
    heights = spin(7, 0.012)
    lying = np.full(100, heights[0])
    lying[50:65] += 0.1 * np.sin(np.linspace(0, math.pi, 15))
    desk.play(RUNOUT.name, [*lying, *heights])
    assert desk.measurements(job) == ()
    assert "take it again" in desk.bench.progress().message
    desk.ask(Press())
    [kept] = desk.measurements(job)
    assert float(kept.value) > 0.1
    assert (kept.status, kept.complete) == ("INDETERMINATE", False)


def test_half_a_turn_and_a_still_valve_complete_nothing():
    desk = Desk(BOTH)
    job = desk.open()
    desk.play(RUNOUT.name, [0.4] * 500)
    desk.play(RUNOUT.name, spin(0.5, 0.020))
    desk.play(RUNOUT.name, [spin(0.5, 0.020)[-1]] * 500)
    assert desk.measurements(job) == ()


def test_an_open_micrometer_is_no_stem():
    desk = Desk(BOTH)
    job = desk.open()
    desk.ask(PutUp(job, "valve.stem_diameter", "1I"))
    desk.play(MICROMETER.name, [25.0] * 200)
    assert desk.measurements(job) == ()
    desk.play(MICROMETER.name, [*np.linspace(8, 6.975, 20), *[6.975] * 80])
    [kept] = desk.measurements(job)
    assert str(kept.value) == "6.9750"
    assert kept.place.direction == "along"
    desk.play(MICROMETER.name, [8.0] * 50)
    assert desk.bench.target.place.direction == "across"


def test_take_again_voids_and_counts_takes():
    desk = Desk(BOTH)
    job = desk.open()
    desk.play(RUNOUT.name, spin(2.6, 0.020))
    desk.ask(TakeAgain(job))
    assert desk.bench.phase is Phase.CAPTURING
    desk.play(RUNOUT.name, spin(2.6, 0.020))
    first, second = desk.measurements(job)
    assert (first.status, first.void_reason) == ("VOID", "taken again at the bench")
    assert (second.status, second.take, second.position) == ("PASS", 2, "1I")


def test_a_broken_stream_starts_the_capture_again_and_says_so():
    desk = Desk(BOTH)
    job = desk.open()
    desk.play(RUNOUT.name, spin(0.9, 0.020))
    desk.write(desk.bench.feed(RUNOUT.name, []))
    assert desk.records[job].of_kind(EntryKind.BROKEN)
    desk.play(RUNOUT.name, spin(0.9, 0.020))
    assert desk.measurements(job) == ()


def test_skip_goes_on_and_is_written():
    desk = Desk(BOTH)
    job = desk.open()
    desk.ask(Skip(job, "valve missing"))
    assert desk.bench.target.position == "1E"
    assert desk.records[job].of_kind(EntryKind.SKIPPED)[0].body["reason"] == "valve missing"


@pytest.mark.parametrize(
    ("characteristic", "position", "word"),
    [
        ("valve.colour", "1I", "valve.colour"),
        ("valve.stem_runout", "9I", "9I"),
        ("valve.look", "1I", "does not ask"),
    ],
)
def test_what_does_not_exist_is_a_sentence(characteristic, position, word):
    desk = Desk(BOTH)
    job = desk.open()
    with pytest.raises(UnknownError, match=word):
        desk.ask(PutUp(job, characteristic, position))


def test_void_twice_and_press_with_nothing_are_refused():
    desk = Desk(BOTH)
    job = desk.open()
    with pytest.raises(ConflictError):
        desk.ask(Press())
    desk.play(RUNOUT.name, spin(2.6, 0.020))
    [kept] = desk.measurements(job)
    desk.ask(Void(job, kept.id, "wrong valve"))
    with pytest.raises(ConflictError, match="void already"):
        desk.ask(Void(job, kept.id, "again"))
    with pytest.raises(UnknownError):
        desk.ask(Void(job, "nobody", "x"))


def test_the_bench_shows_nothing_before_it_is_written():
    desk = Desk(BOTH)
    desk.open()
    drafts = []
    for height in spin(2.6, 0.020):
        desk.t_s += 0.02
        reading = Reading(RUNOUT.name, "", on_time_grid(desk.t_s), round(height, 3), Unit.MM)
        drafts = desk.bench.feed(RUNOUT.name, [reading])
        if drafts:
            break
    assert drafts
    assert desk.bench.phase is Phase.CAPTURING


def test_a_warm_stem_is_brought_to_20_degrees():
    """Stem of 1.4870, EN 10090: 15.5e-6 per K; gauge steel 11.5e-6 per K, Swyt 1994."""
    desk = Desk(BOTH)
    job = desk.open()
    desk.ask(Temperature(job, Decimal(30), Decimal(25)))
    desk.ask(PutUp(job, "valve.stem_diameter", "1I"))
    desk.play(MICROMETER.name, [6.975] * 80)
    [kept] = desk.measurements(job)
    expected_mm = 6.975 * (1 - 15.5e-6 * 10 + 11.5e-6 * 5)
    assert float(kept.value) == pytest.approx(expected_mm, abs=0.00006)
    assert any(line["name"] == "temperature of part" for line in kept.detail["budget"])


def test_a_temperature_that_cannot_be_is_refused():
    desk = Desk(BOTH)
    job = desk.open()
    with pytest.raises(RefusedError, match="Celsius"):
        desk.ask(Temperature(job, Decimal(212), Decimal(68)))


def test_a_jogged_plunger_is_nobodys_turn():
    """Between two valves the free plunger is jogged: it draws turning points, but no part."""
    desk = Desk(BOTH)
    job = desk.open()
    desk.play(RUNOUT.name, spin(2.6, 0.020))
    desk.play(RUNOUT.name, out(2.0))
    jogged = -1.5 + 0.02 * np.sin(np.linspace(0, 8 * math.pi, 400))
    desk.play(RUNOUT.name, jogged)
    desk.play(RUNOUT.name, out(3.0))
    assert [m.position for m in desk.measurements(job)] == ["1I"]
    desk.play(RUNOUT.name, spin(2.6, 0.012, level_mm=0.31))
    assert [m.position for m in desk.measurements(job)] == ["1I", "1E"]


def test_the_last_value_of_a_job_leaves_nothing_up():
    """Answered, keyed or skipped: what was up last must not be asked for once more."""
    steps = [{"characteristic": "valve.look"}]
    head = {"name": "one", "title": "t", "source": "invented", "head": {"cylinders": 1}}
    for finish in (
        lambda job: Answer(job, passed=True),
        lambda job: Skip(job, "no valve here"),
        lambda job: KeyIn(
            job, Keyed(Target("valve.look", "1E", None), Decimal(1), "1", Came.KEYED)
        ),
    ):
        desk = Desk(BOTH, plan=Plan.model_validate({**head, "steps": steps}))
        job = desk.open()
        desk.ask(Answer(job, passed=True))
        assert desk.bench.target == Target("valve.look", "1E", None)
        desk.ask(finish(job))
        assert desk.bench.target is None
        assert desk.bench.phase is Phase.IDLE
        assert desk.bench.progress().message == "Everything the plan asks for is measured."


def test_after_a_restart_the_bench_goes_on_where_it_was_and_asks_for_what_is_in():
    """Nothing of the bench is left but its record; what was left out before stays for the end."""
    desk = Desk(BOTH)
    job = desk.open()
    desk.ask(PutUp(job, "valve.stem_diameter", "2I"))
    desk.play(MICROMETER.name, [*np.linspace(8, 6.975, 20), *[6.975] * 80])
    before = desk.bench.progress()
    assert before.phase is Phase.TAKE_OUT
    again = Desk(BOTH)
    again.records = desk.records
    again.bench.take_over(desk.records[job])
    now = again.bench.progress()
    assert now.message == "Take out what is in. Then press Go on."
    assert now.coming == before.coming
    again.ask(Press())
    assert again.bench.target == before.coming[0]
    assert again.bench.target[:2] == ("valve.stem_diameter", "2I")
