"""What every capture promises, tried on every kind there is."""

import math

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from daq.capture.base import Captured, Kind, Setup
from daq.capture.evaluate import evaluate, new_capture
from daq.capture.trace import Trace
from drivers.reading import Reading, State, Unit
from tests.generators.hand_spin import spin
from tests.generators.recordings import approached, made, recorded


def spun(seed: int) -> list[Reading]:
    one = spin(
        np.random.default_rng(seed),
        shape="bent",
        hand="fingers",
        rate_hz=20.0,
        step_mm=0.001,
        turns=2.5,
    )
    return [
        Reading("g", "", t, v, Unit.MM)
        for t, v in zip(one.t_s.tolist(), one.value_mm.tolist(), strict=True)
    ]


RECORDINGS = {
    Kind.TURN: [spun(1), spun(2)],
    Kind.ROCK: [recorded("rock", f"{n:03d}.csv") for n in (0, 17, 25, 36)],
    Kind.SETTLE: [made(approached()), made(approached(noise=0.0)), made([5.0, 6.0, 5.0])],
    Kind.DECAY: [recorded("decay", f"{n:03d}.csv") for n in (0, 5, 13)],
    Kind.LOOK: [made([1.0, 1.0, 1.0])],
}
UNITS = {Kind.DECAY: Unit.MBAR}
ALL = [(kind, place) for kind, each in RECORDINGS.items() for place in range(len(each))]
SETUP = Setup(one_way=True)
slow = settings(
    max_examples=5, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)


def test_every_kind_is_here():
    assert set(RECORDINGS) == set(Kind)


def same(one: Captured, other: Captured) -> bool:
    """Equal to the last bit, in value, budget and detail."""
    return repr(one) == repr(other)


def fed(kind: Kind, readings: list[Reading], cuts: list[int], *, asked: bool = False) -> Captured:
    capture = new_capture(kind, SETUP)
    for start, end in zip([0, *cuts], [*cuts, len(readings)], strict=True):
        capture.feed(readings[start:end])
        if asked:
            capture.progress()
            capture.result()
    return capture.result()


@pytest.mark.parametrize(("kind", "place"), ALL)
@slow
@given(data=st.data())
def test_any_cut_gives_the_same(kind, place, data):
    readings = RECORDINGS[kind][place]
    cuts = sorted(data.draw(st.lists(st.integers(0, len(readings)), max_size=6)))
    assert same(fed(kind, readings, cuts), evaluate(kind, readings, SETUP))


@pytest.mark.parametrize(("kind", "place"), ALL)
def test_one_by_one_gives_the_same(kind, place):
    readings = RECORDINGS[kind][place]
    every = list(range(1, len(readings)))
    assert same(fed(kind, readings, every), evaluate(kind, readings, SETUP))


@pytest.mark.parametrize(("kind", "place"), ALL)
def test_asking_changes_nothing(kind, place):
    readings = RECORDINGS[kind][place]
    cuts = list(range(10, len(readings), len(readings) // 6 + 1))
    assert same(fed(kind, readings, cuts, asked=True), evaluate(kind, readings, SETUP))


@pytest.mark.parametrize(("kind", "place"), ALL)
def test_the_stored_trace_gives_the_stored_value(kind, place):
    readings = RECORDINGS[kind][place]
    stored = Trace.unpack(Trace.of(readings).pack()).readings("g")
    assert stored == readings
    assert same(evaluate(kind, stored, SETUP), evaluate(kind, readings, SETUP))


@pytest.mark.parametrize(("kind", "place"), ALL)
def test_the_hour_of_the_day_means_nothing(kind, place):
    """A trace shifted in time by whole seconds: the same value but for the last digits."""
    readings = RECORDINGS[kind][place]
    later = [reading._replace(t_s=reading.t_s + 4096.0) for reading in readings]
    here, there = evaluate(kind, readings, SETUP), evaluate(kind, later, SETUP)
    assert here.complete == there.complete
    if here.measured is not None:
        assert there.measured.value == pytest.approx(here.measured.value, abs=1e-7)


@pytest.mark.parametrize("kind", Kind)
def test_nothing_fed_is_nothing_measured(kind):
    capture = new_capture(kind, SETUP)
    capture.feed([])
    result = capture.result()
    assert result.kind is kind
    assert result.measured is None
    assert not result.complete
    assert result.reason.endswith(".")
    assert not capture.done
    assert not capture.progress().done


@pytest.mark.parametrize("kind", Kind)
def test_readings_without_a_number_are_no_number(kind):
    unit = UNITS.get(kind, Unit.MM)
    lost = [Reading("g", "", n / 10, math.nan, unit, State.OVER_RANGE) for n in range(60)]
    result = evaluate(kind, lost, SETUP)
    assert result.measured is None
    assert not result.complete


odd_value = st.one_of(
    st.integers(-30_000, 30_000).map(lambda n: n / 1000),
    st.sampled_from([0.0, 1e-6, -1e-6, 999.0, 0.001]),
)


@pytest.mark.parametrize("kind", Kind)
@settings(max_examples=25, deadline=None, derandomize=True)
@given(data=st.data())
def test_odd_readings_never_break_it_nor_make_a_number_that_is_none(kind, data):
    values = data.draw(st.lists(odd_value, max_size=60))
    gaps = data.draw(st.lists(st.integers(0, 30_000), min_size=len(values), max_size=len(values)))
    times = np.cumsum(gaps) / 10_000 if gaps else []
    scale = 40.0 if kind is Kind.DECAY else 1.0
    readings = [
        Reading("g", "", float(t), round(v * scale, 6), UNITS.get(kind, Unit.MM))
        for t, v in zip(times, values, strict=True)
    ]
    capture = new_capture(kind, SETUP)
    capture.feed(readings)
    capture.progress()
    capture.rest(float(times[-1]) + 10.0 if len(times) else 10.0)
    result = capture.result()
    if result.measured is None:
        assert not result.complete
    else:
        assert math.isfinite(result.measured.value)
        assert math.isfinite(result.measured.u)
    assert result.complete == (result.reason == "")


@pytest.mark.parametrize(("kind", "place"), ALL)
def test_the_budget_reads_and_adds_up(kind, place):
    result = evaluate(kind, RECORDINGS[kind][place], SETUP)
    if result.measured is None:
        return
    budget = result.measured.budget
    assert {"resolution"} <= {line.name for line in budget}
    assert all(line.note and line.u >= 0 for line in budget)
    assert result.measured.u == pytest.approx(math.sqrt(sum(line.u**2 for line in budget)))


@pytest.mark.parametrize("kind", [Kind.TURN, Kind.ROCK, Kind.SETTLE, Kind.DECAY])
def test_the_gauges_error_limit_is_in_the_budget(kind):
    readings = RECORDINGS[kind][0]
    bare = evaluate(kind, readings, SETUP).measured
    worse = evaluate(kind, readings, Setup(one_way=True, error_limit=0.005)).measured
    assert worse.value == bare.value
    assert worse.u > bare.u


@pytest.mark.parametrize("at_once", [2, 5, 20, 80, 10_000])
@pytest.mark.parametrize(("kind", "place"), ALL)
def test_readings_that_came_at_once_end_nothing(kind, place, at_once):
    """A busy machine hears many at one time; what they show may be little, but nothing breaks."""
    given = RECORDINGS[kind][place]
    bunched = [given[n // at_once * at_once]._replace(value=r.value) for n, r in enumerate(given)]
    got = fed(kind, bunched, [], asked=True)
    if got.measured is not None:
        assert math.isfinite(got.measured.value)
        assert math.isfinite(got.measured.expanded)
