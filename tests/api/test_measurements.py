"""Values that are keyed in or sent: exact, judged, once, never overwritten; and the commands."""

import asyncio

import pytest


def path(job, end="measurements"):
    return f"/api/v1/jobs/{job}/{end}"


async def record_of(client, job):
    return (await client.get(path(job, "record"))).json()


async def test_a_value_is_kept_exactly_as_it_was_keyed(client, job, stem):
    sent = {
        **stem,
        "gauge": "micrometer",
        "person": "A. Person",
        "note": "-1 tried twice",
        "measured_at": "2026-11-25T10:30:00.5+01:00",
    }
    answer = await client.post(path(job), json=sent)
    assert answer.status_code == 201
    m = answer.json()
    assert m == (await record_of(client, job))["measurements"][0]
    assert m["value"] == "6.9710"
    assert m["place"] == {"depth_mm": "12", "direction": "along"}
    assert m["unit"] == "mm"
    assert m["status"] == "NOT_ANALYZED"
    assert m["complete"] is True
    assert m["came"] == "keyed"
    assert m["gauge"] == "micrometer"
    assert m["gauge_serial"] == "G-1042"
    assert m["measured_at"] == "2026-11-25T09:30:00.500Z"
    assert m["k"] == "2.0"
    assert float(m["uncertainty"]) > 0.001
    assert m["take"] == 1
    assert m["limits"] is None
    assert m["trace_sha256"] is None
    assert m["void_reason"] is None


@pytest.mark.parametrize(
    ("value", "unit", "kept"),
    [
        ("0.2745", "in", "6.9723"),
        ("6972", "um", "6.972"),
        ('"274.5"', "[mil_i]", "6.9723"),
        ("6.9710", "mm", "6.971"),
        ("7", "mm", "7"),
        ("6.97e0", "mm", "6.97"),
    ],
)
async def test_numbers_pass_through_no_float(client, job, stem, value, unit, kept):
    import json

    body = json.dumps({**stem, "value": "VALUE", "unit": unit}).replace('"VALUE"', value)
    answer = await client.post(
        path(job), content=body, headers={"content-type": "application/json"}
    )
    assert answer.status_code == 201, answer.text
    assert answer.json()["value"].rstrip("0").rstrip(".") == kept


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ('"NaN"', "not a plain decimal"),
        ("NaN", "not a plain decimal"),
        ("Infinity", "not a plain decimal"),
        ("-Infinity", "not a plain decimal"),
        ('"inf"', "not a plain decimal"),
        ('"6,971"', "write it with a point: '6.971'"),
        ('"1e-3"', "not a plain decimal"),
        ("1e400", "not a plain decimal"),
        ('"' + "9" * 1000 + '"', "not a plain decimal"),
        ("9" * 1000, "not a plain decimal"),
        ("0." + "1" * 1000, "not a plain decimal"),
        ('""', "not a plain decimal"),
        ('"6.971 mm"', "not a plain decimal"),
        ("true", "decimal number"),
        ("null", "decimal number"),
        ("[6.971]", "decimal number"),
    ],
)
async def test_a_value_that_is_none_is_answered_with_a_sentence(client, job, stem, value, said):
    import json

    body = json.dumps({**stem, "value": "VALUE"}).replace('"VALUE"', value)
    answer = await client.post(
        path(job), content=body.encode(), headers={"content-type": "application/json"}
    )
    assert answer.status_code == 422, answer.text
    assert said in answer.json()["detail"]
    assert answer.json()["errors"][0]["where"] == "/value"
    assert len(answer.content) < 1000
    assert (await record_of(client, job))["measurements"] == []


@pytest.mark.parametrize(
    ("change", "status", "said"),
    [
        ({"characteristic": "valve.colour"}, 404, "there is no characteristic 'valve.colour'"),
        ({"position": "9I"}, 404, "there is no position '9I' on this head; there are 1I, 1E"),
        ({"position": "1i"}, 404, "there is no position '1i'"),
        ({"unit": "furlong"}, 422, "the unit 'furlong' is not known"),
        ({"unit": "mbar"}, 422, "cannot stand for one in 'mm'"),
        ({"place": None}, 422, "needs a 'place'"),
        ({"place": {"depth_mm": "NaN", "direction": "along"}}, 422, "depth_mm should be"),
        ({"place": {"depth_mm": "12", "direction": "up"}}, 422, "direction should be"),
        ({"place": {"depth_mm": "12"}}, 422, "direction is missing"),
        ({"characteristic": "valve.stem_runout"}, 422, "measured once at each valve"),
        ({"characteristic": "guide.clearance_max", "place": None}, 422, "worked out"),
        ({"came": "captured"}, 422, "should be 'keyed' or 'sent'"),
        ({"measured_at": "2026-11-25T10:30:00"}, 422, "timezone"),
        ({"measured_at": "yesterday"}, 422, "measured_at should be"),
        ({"measured_at": 5}, 422, "has to be a time like"),
        ({"measured_at": "0001-01-01T00:00:00+14:00"}, 422, "years that have a date"),
        ({"valve": 1}, 422, "valve is not a key"),
    ],
)
async def test_what_does_not_fit_the_head_is_refused(client, job, stem, change, status, said):
    answer = await client.post(path(job), json={**stem, **change})
    assert answer.status_code == status, answer.text
    assert said in answer.json()["detail"]
    assert (await record_of(client, job))["measurements"] == []


async def test_a_gauge_that_is_not_connected_is_known_by_name(client, job, stem):
    m = (await client.post(path(job), json={**stem, "gauge": "caliper 3", "came": "sent"})).json()
    assert (m["gauge"], m["gauge_serial"], m["came"]) == ("caliper 3", "", "sent")


async def test_the_same_request_twice_is_done_once(client, job, stem):
    key = {"idempotency-key": "k-1"}
    first = await client.post(path(job), json=stem, headers=key)
    again = await client.post(path(job), json=stem, headers=key)
    assert (again.status_code, again.json()) == (first.status_code, first.json())
    assert len((await record_of(client, job))["measurements"]) == 1
    other = await client.post(path(job), json={**stem, "value": "6.9"}, headers=key)
    assert other.status_code == 422
    assert "used for another request" in other.json()["detail"]
    without = await client.post(path(job), json=stem)
    assert without.json()["take"] == 2


async def test_the_answer_stays_what_it_was_after_a_void(client, job, stem):
    key = {"idempotency-key": "k-1"}
    first = (await client.post(path(job), json=stem, headers=key)).json()
    await client.post(path(job, f"measurements/{first['id']}/void"), json={"reason": "slipped"})
    assert (await client.post(path(job), json=stem, headers=key)).json() == first


async def test_many_at_once_with_one_key_write_once(client, job, stem):
    key = {"idempotency-key": "k-2"}
    answers = await asyncio.gather(
        *(client.post(path(job), json=stem, headers=key) for _ in range(10))
    )
    assert {each.status_code for each in answers} == {201}
    assert len({each.json()["id"] for each in answers}) == 1
    assert len((await record_of(client, job))["measurements"]) == 1


async def test_a_job_opened_twice_with_one_key_is_one_job(client):
    asked, key = {"number": "J-5", "plan": "four-by-two"}, {"idempotency-key": "open"}
    first = await client.post("/api/v1/jobs", json=asked, headers=key)
    again = await client.post("/api/v1/jobs", json=asked, headers=key)
    assert first.status_code == again.status_code == 201
    assert first.json() == again.json()


async def test_a_refused_request_does_not_use_up_its_key(client, job, stem):
    key = {"idempotency-key": "k-3"}
    refused = await client.post(path(job), json={**stem, "unit": "furlong"}, headers=key)
    assert refused.status_code == 422
    assert (await client.post(path(job), json=stem, headers=key)).status_code == 201


async def test_a_void_keeps_the_measurement_and_the_reason(client, job, stem):
    m = (await client.post(path(job), json=stem)).json()
    void = path(job, f"measurements/{m['id']}/void")
    answer = await client.post(void, json={"reason": "the stem was not clean"})
    assert answer.json()["entries"][0]["kind"] == "measurement.voided"
    kept = (await record_of(client, job))["measurements"][0]
    assert (kept["status"], kept["void_reason"]) == ("VOID", "the stem was not clean")
    assert kept["value"] == m["value"]
    again = await client.post(void, json={"reason": "once more"})
    assert again.status_code == 409
    assert "void already" in again.json()["detail"]
    unknown = await client.post(path(job, "measurements/nope/void"), json={"reason": "x"})
    assert unknown.status_code == 404
    assert (await client.post(void, json={})).status_code == 422


async def test_commands_write_what_they_say(client, job):
    for end, body, kind in [
        ("temperature", {"part_c": "21.5", "gauge_c": 20}, "temperature.noted"),
        ("zero", {"gauge": "micrometer", "ring": "ring 7", "shown_mm": "0.001"}, "gauge.zeroed"),
        ("rework", {"position": "1I", "part": "guide", "what": "renewed"}, "part.reworked"),
        ("skip", {"reason": "no valve here"}, "characteristic.skipped"),
        ("up", {"characteristic": "valve.recess", "position": "2E"}, "capture.up"),
        ("sign", {"person": "A. Person"}, "job.signed"),
    ]:
        answer = await client.post(path(job, end), json=body)
        assert answer.status_code == 200, answer.text
        assert kind in [entry["kind"] for entry in answer.json()["entries"]], end
    assert (await client.get(f"/api/v1/jobs/{job}")).json()["signed_by"] == "A. Person"
    late = await client.post(path(job, "temperature"), json={"part_c": "1", "gauge_c": "1"})
    assert late.status_code == 409
    assert "signed and closed" in late.json()["detail"]


@pytest.mark.parametrize(
    ("end", "body", "status", "said"),
    [
        ("temperature", {"part_c": "400", "gauge_c": "20"}, 422, "cannot be"),
        ("temperature", {"part_c": "20,5", "gauge_c": "20"}, 422, "part_c is written"),
        ("zero", {"gauge": "scale", "ring": "ring 7"}, 404, "there is no gauge 'scale'"),
        ("zero", {"gauge": "micrometer", "ring": "ring 9"}, 404, "there is no ring 'ring 9'"),
        ("zero", {"gauge": "micrometer", "ring": "ring 7"}, 409, "not still"),
        ("rework", {"position": "1I", "part": "piston", "what": "x"}, 404, "part 'piston'"),
        ("up", {"characteristic": "valve.recess", "position": "7I"}, 404, "position '7I'"),
        ("up", {"characteristic": "guide.clearance_max", "position": "1I"}, 422, "worked out"),
        ("answer", {"passed": "yes"}, 422, "passed should be"),
        ("answer", {"passed": True}, 409, "measured, not looked at"),
        ("sign", {}, 422, "person is missing"),
        ("skip", {"reason": ""}, 422, "reason should"),
    ],
)
async def test_commands_that_cannot_be_done(client, job, end, body, status, said):
    answer = await client.post(path(job, end), json=body)
    assert answer.status_code == status, answer.text
    assert said in answer.json()["detail"]


@pytest.mark.parametrize("end", ["up", "again", "skip", "rework", "temperature", "zero", "sign"])
async def test_commands_on_a_job_that_is_not_there(client, job, end):
    bodies = {
        "up": {"characteristic": "valve.recess", "position": "1I"},
        "skip": {"reason": "x"},
        "rework": {"position": "1I", "part": "valve", "what": "x"},
        "temperature": {"part_c": "20", "gauge_c": "20"},
        "zero": {"gauge": "micrometer", "ring": "ring 7"},
        "sign": {"person": "x"},
    }
    answer = await client.post(path("nope", end), json=bodies.get(end, {}))
    assert answer.status_code == 404


async def test_press_and_again_need_something_to_act_on(client, job):
    assert (await client.post("/api/v1/bench/press")).status_code == 409
    again = await client.post(path(job, "again"))
    assert again.status_code in {200, 409}


async def test_clearance_is_worked_out_and_judged_in_the_record(client, job, stem):
    for depth in ("12", "30", "48"):
        for direction in ("along", "across"):
            place = {"depth_mm": depth, "direction": direction}
            await client.post(path(job), json={**stem, "place": place})
    for depth in ("6", "22", "38"):
        for direction in ("along", "across"):
            place = {"depth_mm": depth, "direction": direction}
            bore = {"characteristic": "guide.diameter", "value": "7.012", "place": place}
            await client.post(path(job), json={**stem, **bore})
    record = await record_of(client, job)
    largest = next(
        m for m in record["measurements"] if m["characteristic"] == "guide.clearance_max"
    )
    assert largest["value"] == "0.0410"
    assert (largest["came"], largest["status"]) == ("derived", "PASS")
    assert largest["limits"] == {"lower": None, "upper": "0.10"}
    assert "guide value" in largest["limit_source"]
    decisions = {(d["position"], d["part"]): d for d in record["decisions"]}
    assert decisions["1I", "guide"]["decision"] == "accept"
    # Its runout and recess are not measured: never accept.
    assert decisions["1I", "valve"]["decision"] == "not measured"
    reason = decisions["1I", "guide"]["reasons"][0]
    assert set(reason) >= {
        "characteristic",
        "measurement_id",
        "limit",
        "limit_source",
        "text",
        "next",
    }
