"""Decay: the leak, told from pump, warming gas and venting."""

from dataclasses import replace

import numpy as np
import pytest

from daq.capture.base import Hint, Kind, Setup
from daq.capture.decay import Decay
from daq.capture.evaluate import evaluate
from tests.generators.leaking import Leaking, lost
from tests.generators.recordings import recorded, truths

TRUTH = truths("decay")


def test_recordings_are_right_and_honest():
    near, inside, complete = [], [], []
    for name, row in TRUTH.items():
        result = evaluate(Kind.DECAY, recorded("decay", name), Setup())
        volume_l, leak = float(row["volume_l"]), float(row["leak_mbar_l_s"])
        error = result.measured.value * volume_l - leak
        near.append(abs(error) <= max(0.1 * leak, 0.01))
        inside.append(abs(error) <= result.measured.expanded * volume_l)
        complete.append(result.complete)
    assert np.mean(near) >= 0.9
    assert np.mean(inside) >= 0.9
    assert np.mean(complete) >= 0.9


def parts(count: int, **changes: object) -> list[Leaking]:
    """Parts of all kinds, invented."""
    found = []
    for seed in range(count):
        chance = np.random.default_rng(1000 + seed)
        part = Leaking(
            start_mbar=chance.uniform(330, 780),
            volume_l=chance.uniform(0.05, 0.6),
            leak_mbar_l_s=10 ** chance.uniform(-2.3, -0.3),
            cooled_k=chance.uniform(0, 1.5),
            warming_s=chance.uniform(1.5, 8),
            length_s=chance.uniform(15, 45),
            rate_hz=float(chance.choice([2, 5, 10])),
        )
        found.append(replace(part, **changes))
    return found


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"law": "squares"},
        {"law": "root"},
        {"law": "squares", "leak_mbar_l_s": 1.5},
        {"law": "root", "leak_mbar_l_s": 1.5},
        {"law": "root", "leak_mbar_l_s": 4.0},
        {"pump_s": 6.0},
        {"vent": True},
        {"pump_s": 10.0, "vent": True},
        {"leak_mbar_l_s": 0.0},
    ],
    ids=str,
)
def test_other_parts_are_right_and_honest(changes):
    """Two warming constants, another law of leaking: not the curve that is fitted."""
    near, inside = [], []
    for seed, part in enumerate(parts(30, **changes)):
        result = evaluate(Kind.DECAY, lost(part, seed), Setup())
        if not result.complete:
            continue
        error = result.measured.value - part.rate_mbar_s
        near.append(abs(error) * part.volume_l <= max(0.1 * part.leak_mbar_l_s, 0.01))
        inside.append(abs(error) <= result.measured.expanded)
    assert len(near) >= 25
    assert np.mean(near) >= 0.9
    assert np.mean(inside) >= 0.9


def test_the_secant_over_the_whole_time_would_be_wrong():
    """What a stopwatch and two readings give, for comparison: the gas still warms at first."""
    part = Leaking(leak_mbar_l_s=0.02, cooled_k=1.2)
    readings = lost(part, 1)
    secant = (readings[0].value - readings[-1].value) / readings[-1].t_s
    assert abs(secant - part.rate_mbar_s) > 0.4 * part.rate_mbar_s
    ours = evaluate(Kind.DECAY, readings, Setup()).measured.value
    assert abs(ours - part.rate_mbar_s) < 0.5 * abs(secant - part.rate_mbar_s)


def test_no_vacuum_is_said():
    result = evaluate(Kind.DECAY, lost(Leaking(start_mbar=20.0), 1), Setup())
    assert result.measured is None
    assert not result.complete
    assert "never held" in result.reason


def test_a_vacuum_gone_at_once_is_not_accepted():
    part = Leaking(leak_mbar_l_s=300.0, volume_l=0.1)
    result = evaluate(Kind.DECAY, lost(part, 1), Setup())
    assert not result.complete
    assert "gone" in result.reason


def test_a_short_look_is_still_settling():
    result = evaluate(Kind.DECAY, lost(Leaking(length_s=6.0), 1), Setup())
    assert not result.complete
    assert "still settling" in result.reason


def test_a_pump_that_holds_to_the_end_shows_no_tight_part():
    """Held by the pump for 20 s, then let go: the start is no leak test."""
    held = lost(Leaking(length_s=20.0, leak_mbar_l_s=0.0, cooled_k=0.0), 1)
    falling = lost(Leaking(length_s=20.0, leak_mbar_l_s=2.0, cooled_k=0.0), 2)
    readings = [*held, *[r._replace(t_s=r.t_s + 20.0) for r in falling]]
    result = evaluate(Kind.DECAY, readings, Setup())
    assert not result.complete or result.measured.value == pytest.approx(8.0, rel=0.1)


def test_done_comes_by_itself_and_only_with_a_complete_value():
    capture = Decay(Setup())
    done_at = None
    for reading in lost(Leaking(pump_s=5.0, length_s=70.0, rate_hz=10.0), 3):
        capture.feed([reading])
        assert not capture.done or capture.result().complete
        if capture.done:
            done_at = reading.t_s
            break
    assert done_at is not None
    assert done_at > 15.0
    assert capture.progress().hint is Hint.DONE


def test_silence_ends_a_capture_that_knows_enough_and_no_other():
    short, enough = Decay(Setup()), Decay(Setup())
    short.feed(lost(Leaking(length_s=5.0), 1))
    enough.feed(lost(Leaking(length_s=14.0), 1))
    for capture in (short, enough):
        capture.rest(60.0)
    assert not short.done
    assert enough.done


def test_progress_begins_with_the_vacuum():
    capture = Decay(Setup())
    assert capture.progress().hint is Hint.BEGIN
    capture.feed(lost(Leaking(length_s=5.0), 1))
    assert capture.progress().hint is Hint.GO_ON
    assert 0 < capture.progress().share < 1


def test_a_gauge_error_counts_as_a_share_of_the_vacuum():
    readings = recorded("decay", "005.csv")
    result = evaluate(Kind.DECAY, readings, Setup(error_limit=4.0))
    (line,) = [line for line in result.measured.budget if line.name == "error limit"]
    assert line.u == pytest.approx(result.measured.value * 4.0 / 3**0.5 / 442, rel=0.01)
