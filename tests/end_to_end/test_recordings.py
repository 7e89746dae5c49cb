"""Recordings played through a pseudo serial port into a running service stand in its record.

The recordings and their truth are those of fixtures/traces. They are played faster than they were
made, which a turn does not notice: time is no angle.
"""

import hashlib
import time

import pytest

from api.evaluate import evaluate_file
from daq.capture.base import Kind
from tests.end_to_end.service import readings_of, truth_of

RUNOUT = {"runout": "valve.stem_runout"}
BORE = {"bore": "guide.diameter"}
STEM = {"micrometer": "valve.stem_diameter"}
SPINS = ["036.csv", "047.csv", "075.csv", "091.csv"]
ROCKS = ["020.csv", "021.csv", "054.csv"]  # of 7 mm, as the plan expects


def right(value_mm, truth):
    allowed = max(1.5 * float(truth["step_mm"]), 0.0015, 0.03 * float(truth["runout_mm"]))
    return abs(float(value_mm) - float(truth["runout_mm"])) <= allowed


def test_spins(serve):
    service = serve(RUNOUT)
    job = service.job()
    for position, name in zip(("1I", "1E", "2I", "2E"), SPINS, strict=True):
        service.up(job, "valve.stem_runout", position)
        service.play("runout", readings_of("spin", name), faster=6)
        service.until(
            lambda at=position: [m for m in service.measurements(job) if m["position"] == at],
            f"{name} stands in the record",
        )
        time.sleep(1.2)  # the hand rests, so that the next press is believed
    found = {m["position"]: m for m in service.measurements(job)}
    assert list(found) == ["1I", "1E", "2I", "2E"]
    for position, name in zip(found, SPINS, strict=True):
        kept = found[position]
        assert kept["complete"]
        assert kept["came"] == "captured"
        assert kept["trace_sha256"]
        assert kept["detail"]["proof"] in {"one-way", "pattern"}
        assert right(kept["value"], truth_of("spin", name)), (name, kept["value"])


def test_the_link_in_an_event_leads_to_the_trace_that_gives_the_value_again(serve, tmp_path):
    service = serve(RUNOUT)
    job = service.job()
    service.up(job, "valve.stem_runout", "1I")
    service.play("runout", readings_of("spin", "047.csv"), faster=6)
    service.until(lambda: service.measurements(job), "the spin stands in the record")
    events = service.get("/events")["events"]
    (data,) = [event["data"] for event in events if event["type"].endswith("measurement.kept.v1")]
    linked = data["trace"]
    assert hashlib.sha256(service.bytes_at(linked["url"])).hexdigest() == linked["sha256"]
    file = tmp_path / "again.csv"
    file.write_bytes(service.bytes_at(linked["url"] + "/readings"))
    again = evaluate_file(Kind.TURN, file, one_way=True)
    assert again.complete
    assert again.value == pytest.approx(float(data["value"]), abs=0.00005)


def test_bores(serve):
    rings = [(f"ring {name}", truth_of("rock", name)["setting_ring_mm"]) for name in ROCKS]
    service = serve(BORE, rings)
    job = service.job()
    for position, name in zip(("1I", "1E", "2I"), ROCKS, strict=True):
        truth = truth_of("rock", name)
        shown_mm = truth["shown_in_ring_mm"]
        ring = {"gauge": "bore", "ring": f"ring {name}", "shown_mm": shown_mm}
        service.post(f"/jobs/{job}/zero", ring)
        place = {"depth_mm": 6.0, "direction": "along"}
        service.up(job, "guide.diameter", position, place)
        service.play("bore", readings_of("rock", name), faster=2)
        kept = service.until(
            lambda at=position: [m for m in service.measurements(job) if m["position"] == at],
            f"{name} stands in the record",
        )[0]
        assert kept["complete"]
        assert kept["reference"] == f"ring {name}"
        assert float(kept["place"]["depth_mm"]) == 6.0
        assert abs(float(kept["value"]) - float(truth["diameter_mm"])) <= 0.003
        time.sleep(1.2)


def test_a_bore_that_the_plan_does_not_expect_is_kept_by_a_press_only(serve):
    truth = truth_of("rock", "000.csv")  # of 5 mm
    service = serve(BORE, [("ring 5", truth["setting_ring_mm"])])
    job = service.job()
    ring = {"gauge": "bore", "ring": "ring 5", "shown_mm": truth["shown_in_ring_mm"]}
    service.post(f"/jobs/{job}/zero", ring)
    service.up(job, "guide.diameter", "1I", {"depth_mm": 6.0, "direction": "along"})
    service.play("bore", readings_of("rock", "000.csv"), faster=2)
    service.until(lambda: service.get("/bench")["phase"] == "not-kept", "the bench asks")
    assert service.measurements(job) == []
    service.post("/bench/press", {})
    [kept] = service.measurements(job)
    assert abs(float(kept["value"]) - float(truth["diameter_mm"])) <= 0.003
    assert kept["status"] == "INDETERMINATE"


def test_a_still_gauge_gives_a_stem_and_the_pair_a_clearance(serve):
    service = serve(STEM | BORE)
    job = service.job()
    place = {"depth_mm": "12", "direction": "along"}
    service.up(job, "valve.stem_diameter", "1I", place)
    service.play("micrometer", [(0.05 * n, "6.9725") for n in range(80)])
    kept = service.until(lambda: service.measurements(job), "the stem stands in the record")[0]
    assert float(kept["value"]) == pytest.approx(6.9725, abs=0.0003)
    bore = {"characteristic": "guide.diameter", "position": "1I", "place": place}
    service.post(
        f"/jobs/{job}/measurements", {**bore, "value": "7.0125", "unit": "mm", "came": "keyed"}
    )
    most = service.measurements(job, "guide.clearance_max")[0]
    assert float(most["value"]) == pytest.approx(0.040, abs=0.0003)
    assert most["status"] == "INDETERMINATE", "eleven places are not measured"


def test_nothing_completes_that_did_not_turn(serve):
    service = serve(RUNOUT)
    job = service.job()
    service.up(job, "valve.stem_runout", "1I")
    turning = readings_of("spin", "046.csv")  # 0.45 of a turn
    end_s, last = turning[-1]
    service.play("runout", [(0.01 * n, turning[0][1]) for n in range(200)])
    service.play("runout", turning, faster=4)
    service.play("runout", [(end_s + 0.01 * n, last) for n in range(200)])
    time.sleep(1.5)
    assert service.measurements(job) == []


def test_waiting_changes_no_completed_value(serve):
    service = serve(RUNOUT)
    job = service.job()
    service.up(job, "valve.stem_runout", "1I")
    spin = readings_of("spin", "047.csv")
    service.play("runout", spin, faster=4)
    before = service.until(lambda: service.measurements(job), "the spin stands in the record")
    service.play("runout", [(0.01 * n, spin[-1][1]) for n in range(400)])
    assert service.measurements(job) == before


def test_a_valve_still_turning_leaves_no_number_at_the_next_position(serve):
    service = serve(RUNOUT)
    job = service.job()
    service.up(job, "valve.stem_runout", "1I")
    spin = readings_of("spin", "091.csv")  # three and a half turns
    for n in range(0, len(spin), 20):
        service.play("runout", spin[n : n + 20], faster=2)
        if service.measurements(job):
            break
    assert n < 0.8 * len(spin), "it was kept while the valve still turned"
    service.up(job, "valve.stem_runout", "1E")
    service.play("runout", spin[n:], faster=2)
    time.sleep(1.5)
    assert [m["position"] for m in service.measurements(job)] == ["1I"]


def test_killed_in_the_middle_of_a_capture(serve):
    service = serve(RUNOUT)
    job = service.job()
    service.up(job, "valve.stem_runout", "1I")
    spin = readings_of("spin", "047.csv")
    service.play("runout", spin[: len(spin) // 3], faster=6)
    service.kill()
    service.start()
    record = service.get(f"/jobs/{job}/record")
    broken = [note for note in record["notes"] if note["kind"] == "capture.broken"]
    assert broken[-1]["body"]["position"] == "1I"
    assert "service stopped" in broken[-1]["body"]["reason"]
    assert record["measurements"] == []
    service.play("runout", spin, faster=6)
    service.until(lambda: service.measurements(job), "the capture was begun anew")
