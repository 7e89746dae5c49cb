"""Temperatures and zeros: a warm head flagged, a zero that moved, a block under a micrometer."""

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.bench import Phase, Press, PutUp, Temperature, Zero
from daq.head.errors import ConflictError, QuestionError, RefusedError
from daq.head.instrument import Instrument, Ring
from daq.head.measurement import Status
from daq.head.plan import Place, Plan, shipped_plans
from daq.head.record import EntryKind
from tests.generators.desk import Desk

BORE = Instrument("bore gauge", "G-3", 0.001, 0.001, frozenset({"guide.diameter"}))
MICROMETER = Instrument("micrometer", "G-2", 0.001, 0.001, frozenset({"valve.stem_diameter"}))
RING = Ring("ring 7", 7.0012, "R-221")
WHERE = Place(depth_mm=Decimal(6), direction="along")
STEM = Place(depth_mm=Decimal(12), direction="along")


def rocked(size_mm, swings=6, zero_mm=7.0):
    """A bore gauge swung through its least reading, invented."""
    tilt = np.deg2rad(6.0) * np.sin(np.linspace(0, np.pi * swings, 60 * swings))
    return size_mm / np.cos(tilt) - zero_mm


def desk_with_a_ring(plan="four-by-two"):
    return Desk((BORE, MICROMETER), (RING,), plan)


def rock_in(desk, job, position, size_mm, place=WHERE):
    desk.ask(PutUp(job, "guide.diameter", position, place))
    desk.play(BORE.name, [0.9] * 30)
    desk.play(BORE.name, rocked(size_mm))
    desk.play(BORE.name, [0.9] * 30)


def read_ring(desk, job, shown_mm):
    return desk.ask(Zero(job, BORE.name, RING.name, Decimal(str(shown_mm))))[0]


def bores(desk, job):
    return [m for m in desk.measurements(job) if m.characteristic == "guide.diameter"]


def test_a_zero_that_moved_flags_what_was_measured_between():
    desk = desk_with_a_ring()
    job = desk.open()
    read_ring(desk, job, 0.001)
    rock_in(desk, job, "1I", 7.010)
    steady = read_ring(desk, job, 0.002)
    assert (steady.body["drift_mm"], steady.body["drifted"]) == ("0.0010", False)
    rock_in(desk, job, "2I", 7.011)
    moved = read_ring(desk, job, 0.009)
    assert (moved.body["drift_mm"], moved.body["drifted"]) == ("0.0070", True)
    rock_in(desk, job, "3I", 7.010)
    first, second, third = bores(desk, job)
    assert first.complete
    assert third.complete
    assert not second.complete
    assert "moved by 0.0070 mm between two checks in ring 7" in second.warnings[-1]


def test_a_bore_asks_for_its_ring_first():
    desk = desk_with_a_ring()
    job = desk.open()
    desk.ask(PutUp(job, "guide.diameter", "1I", WHERE))
    assert desk.bench.progress().message.startswith("Read a setting ring first")
    read_ring(desk, job, 0.001)
    assert "ring" not in desk.bench.progress().message


def test_a_first_check_has_no_drift_and_another_gauge_is_not_flagged():
    desk = desk_with_a_ring()
    job = desk.open()
    assert read_ring(desk, job, 0.001).body["drift_mm"] is None
    desk.ask(PutUp(job, "valve.stem_diameter", "1I", STEM))
    desk.play(MICROMETER.name, [*np.linspace(11, 6.971, 20), *[6.971] * 80])
    read_ring(desk, job, 0.02)
    assert all(m.complete for m in desk.measurements(job))


def test_a_micrometer_is_corrected_by_its_block():
    desk = desk_with_a_ring()
    job = desk.open()
    desk.ask(Zero(job, MICROMETER.name, RING.name, Decimal("7.004")))
    desk.ask(PutUp(job, "valve.stem_diameter", "1I", STEM))
    desk.play(MICROMETER.name, [*np.linspace(11, 6.975, 20), *[6.975] * 80])
    [m] = desk.measurements(job)
    assert float(m.value) == pytest.approx(6.975 - 0.0028, abs=0.0002)
    assert m.reference == "ring 7"
    assert [line["name"] for line in m.detail["budget"]][-2:] == [
        "setting block",
        "reading on the block",
    ]


def test_a_bore_that_is_none_of_this_head_waits_for_a_press_and_proves_nothing():
    desk = desk_with_a_ring()
    job = desk.open()
    read_ring(desk, job, 0.001)
    rock_in(desk, job, "1I", 8.0)
    assert bores(desk, job) == []
    assert desk.bench.phase is Phase.NOT_KEPT
    assert "is this really 1I, and in mm? Take it again" in desk.bench.progress().message
    desk.ask(Press())
    [m] = bores(desk, job)
    assert m.complete
    assert m.status is Status.INDETERMINATE
    assert "is this really 1I, and in mm?" in m.reason
    decided = reasons_of(desk, job, "guide.diameter")
    assert any("lies outside 7.0" in text for text, _ in decided)
    assert all("error limit" not in ask for _, ask in decided)
    assert any("void it and measure again" in ask for _, ask in decided)


def reasons_of(desk, job, name):
    return [
        (reason.text, reason.next)
        for decision in desk.view(job).decisions
        for reason in decision.reasons
        if reason.characteristic == name and decision.position == "1I"
    ]


def test_a_rock_without_a_ring_is_no_diameter_whatever_is_pressed():
    desk = desk_with_a_ring()
    job = desk.open()
    at = PutUp(job, "guide.diameter", "1I", WHERE)
    rock_in(desk, job, "1I", 7.010)
    assert desk.bench.phase is Phase.NOT_KEPT
    message = desk.bench.progress().message
    assert message.startswith("Not kept: no setting ring was read for bore gauge")
    assert message.endswith("Take it again, or press Go on to keep it.")
    assert bores(desk, job) == []
    left = desk.records[job].remaining
    desk.ask(Press())
    [m] = bores(desk, job)
    assert (m.value, m.complete) == (None, False)
    assert m.reason.startswith("no setting ring was read")
    # Nothing that was captured is lost: the difference, and the readings that it came from.
    assert float(m.detail["difference_mm"]) == pytest.approx(0.010, abs=0.001)
    assert m.trace_sha256
    assert desk.records[job].remaining == left
    desk.ask(at)
    read_ring(desk, job, 0.001)
    rock_in(desk, job, "1I", 7.010)
    assert float(bores(desk, job)[-1].value) == pytest.approx(7.0102, abs=0.001)
    assert at.place not in [t.place for t in desk.records[job].remaining if t[:2] == at_of(at)]


def at_of(put_up):
    return (put_up.characteristic, put_up.position)


def test_what_no_ring_was_read_for_is_no_part_of_any_decision():
    """Its number is in no reason, no work and no clearance; with the stems measured, too."""
    desk = desk_with_a_ring("four-by-two-whole")
    job = desk.open()
    for place in desk.plan.step("valve.stem_diameter").places:
        desk.key(job, "valve.stem_diameter", "1I", "6.971", place)
    before = desk.view(job).decisions
    rock_in(desk, job, "1I", 7.010)
    desk.ask(Press())
    assert [m.value for m in bores(desk, job)] == [None]
    assert desk.view(job).decisions == before
    assert not [m for m in desk.measurements(job) if m.came == "derived"]


def test_a_ring_that_is_read_while_the_bore_waits_makes_it_a_diameter():
    desk = desk_with_a_ring()
    job = desk.open()
    rock_in(desk, job, "1I", 7.010)
    read_ring(desk, job, 0.001)
    assert "the setting ring was read only after it" in desk.bench.progress().message
    assert bores(desk, job) == []
    desk.ask(Press())
    [m] = bores(desk, job)
    assert float(m.value) == pytest.approx(7.0102, abs=0.001)
    assert m.reference == RING.name


def test_a_gauge_that_shows_sizes_needs_no_ring():
    desk = desk_with_a_ring()
    job = desk.open()
    desk.ask(PutUp(job, "guide.diameter", "1I", WHERE))
    desk.play(BORE.name, [7.9] * 30)
    desk.play(BORE.name, rocked(7.010, zero_mm=0.0))
    [m] = bores(desk, job)
    assert m.complete
    assert float(m.value) == pytest.approx(7.010, abs=0.001)
    assert any("No setting ring was read" in each for each in m.warnings)


def test_a_bore_far_from_its_neighbours_waits_for_a_press():
    desk = desk_with_a_ring()
    job = desk.open()
    read_ring(desk, job, 0.001)
    for position in ("1I", "2I", "3I"):
        rock_in(desk, job, position, 7.010)
    rock_in(desk, job, "4I", 7.30)
    assert desk.bench.phase is Phase.NOT_KEPT
    assert "is this really 4I" in desk.bench.doubt
    assert len(bores(desk, job)) == 3
    desk.ask(Press())
    assert "Kept by a press although" in bores(desk, job)[-1].warnings[-1]


def test_a_warm_aluminium_head_is_flagged_before_it_is_believed():
    whole = shipped_plans()["four-by-two"].model_dump(mode="json", exclude_none=True)
    whole["material"] = "aluminium head"
    bare = {
        **whole,
        "steps": [{k: v for k, v in s.items() if k != "material"} for s in whole["steps"]],
    }
    for plan, believed in ((whole, True), (bare, False)):
        desk = desk_with_a_ring(Plan.model_validate(plan))
        job = desk.open()
        read_ring(desk, job, 0.001)
        note = desk.ask(Temperature(job, Decimal(40), Decimal(20), of="head"))[0]
        assert (
            "20 K warmer than the gauge; 100 mm of aluminium are 43 µm off" in note.body["warning"]
        )
        rock_in(desk, job, "1I", 7.010)
        [m] = bores(desk, job)
        assert any("let them stand together" in each for each in m.warnings)
        assert m.complete is believed
        # 7 mm of grey iron, 11.4e-6 per K, 20 K: 1.6 µm.
        grown_mm = 7.010 * 11.4e-6 * 20 if believed else 0.0
        assert float(m.value) == pytest.approx(7.010 + 0.0002 - grown_mm, abs=0.0004)


def test_the_valves_have_a_temperature_of_their_own():
    desk = desk_with_a_ring()
    job = desk.open()
    desk.ask(Temperature(job, Decimal(40), Decimal(20), of="head"))
    desk.ask(Temperature(job, Decimal(21), Decimal(20), of="valve"))
    desk.ask(PutUp(job, "valve.stem_diameter", "1I", STEM))
    desk.play(MICROMETER.name, [*np.linspace(11, 6.971, 20), *[6.971] * 80])
    [m] = desk.measurements(job)
    assert m.warnings == ()
    assert m.complete


def test_a_note_within_three_kelvin_warns_of_nothing():
    desk = desk_with_a_ring()
    job = desk.open()
    note = desk.ask(Temperature(job, Decimal(23), Decimal(20)))[0]
    assert note.kind is EntryKind.TEMPERATURE
    assert note.body["warning"] is None


@pytest.mark.parametrize(("part_c", "gauge_c"), [("68", "68"), ("21", "68"), ("4.9", "20")])
def test_a_temperature_that_may_be_in_fahrenheit_is_asked_about(part_c, gauge_c):
    desk = desk_with_a_ring()
    job = desk.open()
    asked = Temperature(job, Decimal(part_c), Decimal(gauge_c))
    with pytest.raises(QuestionError, match=r"°F, it is .* °C\. Is .* right\?"):
        desk.ask(asked)
    assert not desk.records[job].of_kind(EntryKind.TEMPERATURE)
    desk.ask(replace(asked, confirmed=True))
    assert len(desk.records[job].of_kind(EntryKind.TEMPERATURE)) == 1


def test_68_is_said_to_be_20_degrees():
    desk = desk_with_a_ring()
    job = desk.open()
    with pytest.raises(QuestionError) as asked:
        desk.ask(Temperature(job, Decimal(68), Decimal(68)))
    assert "a part at 68 °C (154 °F)" in str(asked.value)
    assert "if 68 was read off in °F, it is 20.0 °C" in str(asked.value)


@given(st.decimals(5, 45, places=1), st.decimals(5, 45, places=1))
def test_what_is_usual_at_a_bench_is_not_asked_about(part_c, gauge_c):
    desk = desk_with_a_ring()
    desk.ask(Temperature(desk.open(), part_c, gauge_c))


def zero_now(desk, job, gauge=BORE.name, *, confirmed=False):
    return desk.ask(Zero(job, gauge, RING.name, confirmed=confirmed))[0]


def test_a_gauge_that_hangs_free_is_in_no_ring():
    desk = desk_with_a_ring()
    job = desk.open()
    desk.play(BORE.name, [0.9] * 80)
    with pytest.raises(QuestionError, match=r"shows 0\.9000 mm .* not hanging free\?"):
        zero_now(desk, job)
    # Into the ring and out again: it is the same free gauge.
    desk.play(BORE.name, [*rocked(7.3), *[0.9] * 80])
    with pytest.raises(QuestionError, match="hanging free"):
        zero_now(desk, job)
    assert not desk.records[job].of_kind(EntryKind.ZEROED)
    desk.play(BORE.name, [*rocked(7.3), *[0.3] * 80])
    assert zero_now(desk, job).body["shown_mm"] == "0.300000"


def test_whoever_looked_says_that_it_is_in_the_ring():
    desk = desk_with_a_ring()
    job = desk.open()
    desk.play(BORE.name, [0.4] * 80)
    assert zero_now(desk, job, confirmed=True).body["shown_mm"] == "0.400000"


@pytest.mark.parametrize("shown_mm", [0.0, 0.04, 7.001, 7.05])
def test_a_gauge_set_to_zero_or_to_size_is_believed_at_once(shown_mm):
    desk = desk_with_a_ring()
    job = desk.open()
    desk.play(BORE.name, [shown_mm] * 80)
    assert zero_now(desk, job).kind is EntryKind.ZEROED


@given(free_mm=st.floats(0.1, 3.0), pressed_mm=st.floats(0.03, 2.0))
def test_only_a_gauge_that_was_pressed_together_is_taken_by_itself(free_mm, pressed_mm):
    desk = desk_with_a_ring()
    job = desk.open()
    desk.play(BORE.name, [free_mm] * 60)
    with pytest.raises(QuestionError):
        zero_now(desk, job)
    desk.play(BORE.name, [free_mm - pressed_mm] * 60)
    assert zero_now(desk, job).kind is EntryKind.ZEROED


def test_a_ring_is_read_with_no_gauge_that_measures_nothing_with_it():
    runout = Instrument("runout indicator", "G-1", 0.001, 0.001, frozenset({"valve.stem_runout"}))
    desk = Desk((runout, BORE, MICROMETER), (RING,))
    job = desk.open()
    desk.play(runout.name, [0.001] * 80)
    with pytest.raises(RefusedError, match="a ring is read with bore gauge, micrometer"):
        zero_now(desk, job, runout.name)


def test_a_micrometer_that_is_not_on_its_block_is_refused():
    desk = desk_with_a_ring()
    job = desk.open()
    desk.play(MICROMETER.name, [11.5] * 80)
    with pytest.raises(ConflictError, match=r"shows 11\.5000 mm and ring 7 is 7\.0012 mm"):
        zero_now(desk, job, MICROMETER.name)
    # Whoever gives the number has read it: it is noted, and what it is worth is said.
    said = desk.ask(Zero(job, MICROMETER.name, RING.name, Decimal("0.001")))[0].body["warning"]
    assert "nothing is corrected by that" in said


def test_a_zero_that_moved_is_said_at_once():
    desk = desk_with_a_ring()
    job = desk.open()
    assert read_ring(desk, job, 0.001).body["warning"] is None
    assert read_ring(desk, job, 0.002).body["warning"] is None
    said = read_ring(desk, job, 0.902).body["warning"]
    assert said.startswith("bore gauge shows 0.9020 mm in ring 7 (7.0012 mm): its zero moved by")
    assert "+0.9000 mm" in said
    assert "is asked for again" in said
