"""A micrometer that paused on its way and was kept: what it goes on to does not pass silently."""

import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from daq.bench import Phase, Press, PutUp, TakeAgain
from daq.head.instrument import Instrument
from drivers.pretend.motion import HeldStill, Withdraw
from tests.generators.desk import Desk

MICROMETER = Instrument("micrometer", "G-2", 0.001, 0.001, frozenset({"valve.stem_diameter"}))
BRIDGE = Instrument("bridge", "G-9", 0.001, 0.001, frozenset({"valve.recess"}))
RATE_HZ = 50.0
FREE_MM = 11.5


def moved(motion, from_mm, seconds=None):
    """What a pretend motion shows from where the gauge was."""
    t_s = np.arange(0, seconds or motion.duration_s, 1 / RATE_HZ)
    return motion.at(t_s, from_mm)


def paused(at_mm=7.05):
    """A desk whose micrometer paused on its way for as long as a still reading takes."""
    desk = Desk((MICROMETER,))
    job = desk.open()
    desk.ask(PutUp(job, "valve.stem_diameter", "1I"))
    desk.play(MICROMETER.name, [*np.linspace(FREE_MM, at_mm, 40), *[at_mm] * 50])
    assert [float(m.value) for m in desk.measurements(job)] == [at_mm]
    return desk, job


def went_on(desk, to_mm=6.97):
    desk.play(MICROMETER.name, [*np.linspace(7.05, to_mm, 20), *[to_mm] * 60])


def test_what_went_on_is_asked_about_and_nothing_goes_on_before_it_is_answered():
    desk, job = paused()
    up = desk.bench.target
    went_on(desk)
    now = desk.bench.progress()
    assert now.asks
    assert re.match(r"It went on to 6\.970\d mm after 7\.0500 mm was kept", now.message)
    assert now.message.endswith("Take it again, or press Go on to leave what was kept.")
    # Nothing is voided by itself, and taking it out is no answer.
    desk.play(MICROMETER.name, [FREE_MM] * 60)
    assert desk.bench.progress().asks
    assert desk.bench.target == up
    assert [float(m.value) for m in desk.measurements(job)] == [7.05]


def test_taken_again_it_is_the_seated_one():
    desk, job = paused()
    went_on(desk)
    desk.ask(TakeAgain(job))
    desk.play(MICROMETER.name, [6.97] * 60)  # still in: it has to be opened first
    desk.play(MICROMETER.name, [*np.linspace(6.97, 7.4, 20), *np.linspace(7.4, 6.97, 20)])
    desk.play(MICROMETER.name, [6.97] * 60)
    first, second = desk.measurements(job)
    assert (first.status, float(second.value)) == ("VOID", 6.97)
    assert first.place == second.place
    assert not desk.bench.progress().asks


def test_go_on_leaves_it_and_the_part_still_in_gives_nothing_to_the_next_place():
    desk, job = paused()
    up = desk.bench.target
    went_on(desk)
    desk.ask(Press())
    assert desk.bench.phase is Phase.CAPTURING
    assert desk.bench.target != up
    desk.play(MICROMETER.name, [6.97] * 100)
    assert len(desk.measurements(job)) == 1
    assert not desk.bench.progress().asks


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10_000), size_mm=st.floats(6.9, 7.1), hold_s=st.floats(1.5, 6.0))
def test_a_hand_that_holds_and_takes_out_is_never_asked(seed, size_mm, hold_s):
    """Pretend hands, invented: the ratchet takes up the rest, the hand trembles, and it is out."""
    rng = np.random.default_rng(seed)
    desk = Desk((MICROMETER,))
    job = desk.open()
    desk.ask(PutUp(job, "valve.stem_diameter", "1I"))
    held = moved(HeldStill(size_mm, rng, hold_s=hold_s), FREE_MM)
    for height in [*held, *moved(Withdraw(FREE_MM, rng), held[-1]), *[FREE_MM] * 20]:
        desk.play(MICROMETER.name, [height])
        assert not desk.bench.progress().asks
    assert len(desk.measurements(job)) == 1


@settings(max_examples=60, deadline=None)
@given(slowness_s=st.floats(0.2, 30.0), stops=st.lists(st.floats(0.0, 1.0), max_size=3))
def test_a_slow_way_out_is_never_asked_about(slowness_s, stops):
    """Opened as slowly as anybody likes, with pauses on the way: it only ever shows more."""
    desk, _ = paused(6.97)
    count = int(slowness_s * RATE_HZ)
    way = np.linspace(6.97, 6.97 + 0.6, count)
    heights = list(way)
    for stop in sorted(stops, reverse=True):
        at = int(stop * (count - 1))
        heights[at:at] = [way[at]] * 50
    for height in heights:
        desk.play(MICROMETER.name, [height])
        assert not desk.bench.progress().asks


@pytest.mark.parametrize("mm_a_second", [0.1, 0.5, 3.0])
def test_closed_on_nothing_after_it_slid_off_the_part_it_has_left(mm_a_second):
    desk, job = paused(6.97)
    up = desk.bench.target
    count = int(6.97 / mm_a_second * RATE_HZ)
    desk.play(MICROMETER.name, [*np.linspace(6.97, 0.0, count), *[0.0] * 40])
    assert not desk.bench.progress().asks
    assert desk.bench.target != up
    assert len(desk.measurements(job)) == 1


def test_a_zero_that_creeps_by_what_the_gauge_is_worth_is_no_question():
    desk, _ = paused(6.97)
    desk.play(MICROMETER.name, [6.968] * 100)
    assert not desk.bench.progress().asks


def test_a_recess_still_under_the_bridge_is_no_face_of_the_next_valve():
    """Its value is a difference; what the gauge shows of the valve is not, and has not left."""
    desk = Desk((BRIDGE,), plan="four-by-two-whole")
    job = desk.open()
    desk.ask(PutUp(job, "valve.recess", "1I"))
    desk.play(BRIDGE.name, [0.0] * 60)
    desk.play(BRIDGE.name, [*np.linspace(0, -1.2, 10), *[-1.2] * 250])
    assert [float(m.value) for m in desk.measurements(job)] == [1.2]
    assert desk.bench.phase is Phase.TAKE_OUT
    desk.play(BRIDGE.name, np.linspace(-1.2, 0.0, 30))
    assert desk.bench.progress().message == "First on the head face."
