"""Leaving out, the order, rework and signing over HTTP; two jobs at once on one bench."""


def path(job, end):
    return f"/api/v1/jobs/{job}/{end}"


async def asked(client, job, end, body, status=200):
    answer = await client.post(path(job, end), json=body)
    assert answer.status_code == status, answer.text
    return answer.json()


async def opened(client, number, plan="four-by-two"):
    answer = await client.post("/api/v1/jobs", json={"number": number, "plan": plan})
    assert answer.status_code == 201, answer.text
    return answer.json()["id"]


async def record_of(client, job):
    return (await client.get(path(job, "record"))).json()


async def test_a_part_that_is_missing_is_left_out_whole(client, job):
    body = {"reason": "not sent", "because": "missing", "part": "guide", "position": "3E"}
    written = await asked(client, job, "skip", body)
    assert {e["body"]["position"] for e in written["entries"]} == {"3E"}
    record = await record_of(client, job)
    found = next(d for d in record["decisions"] if (d["position"], d["part"]) == ("3E", "guide"))
    assert found["decision"] == "not measured"
    assert "not sent (missing)" in found["reasons"][0]["text"]
    assert {each["because"] for each in record["left_out"]} == {"missing"}
    again = await asked(client, job, "skip", body, 409)
    assert "nothing of that is left" in again["detail"]
    unknown = await asked(client, job, "skip", body | {"part": "piston"}, 404)
    assert "its parts are" in unknown["detail"]


async def test_what_is_up_gives_way_when_it_is_left_out_with_others(client, job):
    health = (await client.get("/api/v1/health")).json()
    assert "valve.stem_runout" in health["up"]
    body = {"reason": "no V-blocks today", "characteristic": "valve.stem_runout"}
    written = await asked(client, job, "skip", body)
    assert [e["kind"] for e in written["entries"]].count("characteristic.skipped") == 8
    assert written["entries"][-1]["kind"] == "capture.up"
    assert written["entries"][-1]["body"]["characteristic"] == "valve.stem_diameter"


async def test_batches_by_part_or_by_characteristic(client, job):
    await asked(client, job, "order", {"by": "part"})
    await asked(client, job, "up", {"characteristic": "valve.stem_runout", "position": "1I"})
    written = await asked(client, job, "skip", {"reason": "x"})
    up = written["entries"][-1]["body"]
    assert (up["characteristic"], up["position"]) == ("valve.stem_diameter", "1I")
    await asked(client, job, "order", {"by": "characteristic"})
    await asked(client, job, "up", {"characteristic": "valve.stem_runout", "position": "1E"})
    written = await asked(client, job, "skip", {"reason": "x"})
    up = written["entries"][-1]["body"]
    assert (up["characteristic"], up["position"]) == ("valve.stem_runout", "2I")
    wrong = await asked(client, job, "order", {"by": "colour"}, 422)
    assert "by should be" in wrong["detail"]


async def test_rework_names_its_act_or_is_asked_for_all_of_it(client, job):
    body = {"position": "2E", "part": "seat", "what": "cut at 45°"}
    written = (await asked(client, job, "rework", body))["entries"][0]["body"]
    assert written["act"] == "cut"
    assert "valve.recess" in written["invalidates"]
    wrong = await asked(client, job, "rework", body | {"act": "painted"}, 404)
    assert "it is renewed, cut, lapped" in wrong["detail"]
    shown = (await record_of(client, job))["reworks"][0]
    assert (shown["part"], shown["act"], shown["what"]) == ("seat", "cut", "cut at 45°")


SMALL = {
    "name": "small",
    "title": "Invented head of one cylinder",
    "source": "invented",
    "head": {"cylinders": 1},
    "steps": [
        {
            "characteristic": "valve.stem_runout",
            "limit": {"upper": "0.03", "kind": "maker", "source": "invented"},
        }
    ],
}


async def test_signing_lists_what_is_open(client):
    assert (await client.post("/api/v1/plans", json=SMALL)).status_code == 201
    job = await opened(client, "J-9", "small")
    for position, value in (("1I", "0.0100"), ("1E", "0.0299")):
        body = {
            "characteristic": "valve.stem_runout",
            "position": position,
            "value": value,
            "unit": "mm",
            "came": "sent",
        }
        await asked(client, job, "measurements", body, 201)
    record = await record_of(client, job)
    assert [(p["position"], p["decision"]) for p in record["open_points"]] == [("1E", "unsure")]
    refused = await asked(client, job, "sign", {"person": "A. Person"}, 409)
    assert "what would settle it" in refused["detail"]
    body = {"person": "A. Person", "reason": "looked at twice"}
    signed = (await asked(client, job, "sign", body))["entries"][0]["body"]
    assert signed["open"] == record["open_points"]
    record = await record_of(client, job)
    assert record["job"]["signed_reason"] == "looked at twice"
    found = {d["position"]: d["decision"] for d in record["decisions"]}
    assert found == {"1I": "accept", "1E": "unsure"}


async def test_what_follows_is_worked_out_when_it_is_asked_for(client, job):
    work = (await client.get(path(job, "work"))).json()
    assert work["number"] == "J-1"
    assert {item["kind"] for item in work["items"]} == {"measure"}
    offer = (await client.get(path(job, "matching"))).json()
    assert (offer["saves"], len(offer["kept_out"])) == (0, 8)
    body = {
        "characteristic": "valve.recess",
        "position": "2E",
        "value": "0.900",
        "unit": "mm",
        "came": "keyed",
    }
    await asked(client, job, "measurements", body, 201)
    answer = await client.get(path(job, "what-if?position=2E&seat_mm=0.2&angle_deg=30"))
    found = answer.json()
    assert found["after"][0]["after_mm"] == "1.100"
    seat = found["left"][0]
    assert (seat["along_axis_mm"], seat["stopped_by"]) == (None, "spring.fitted_height")
    for query, status, said in [
        ("position=9E", 404, "there is no position '9E'"),
        ("position=head", 422, "at the position of a valve"),
        ("position=2E&seat_mm=-1", 422, "seat_mm should be greater"),
        ("position=2E&seat_mm=nan", 422, "seat_mm"),
        ("position=2E&angle_deg=90", 422, "angle_deg"),
        ("", 422, "position is missing"),
    ]:
        answer = await client.get(path(job, f"what-if?{query}"))
        assert answer.status_code == status, (query, answer.text)
        assert said in answer.json()["detail"]
    for end in ("work", "matching", "what-if?position=1I"):
        assert (await client.get(path("nope", end))).status_code == 404


async def test_two_jobs_are_open_and_the_bench_runs_one(client):
    first, second = await opened(client, "A-1"), await opened(client, "A-2")
    health = (await client.get("/api/v1/health")).json()
    assert health["job"] == first
    stem = {
        "characteristic": "valve.stem_diameter",
        "position": "1I",
        "place": {"depth_mm": "12", "direction": "along"},
        "value": "6.971",
        "unit": "mm",
        "came": "keyed",
    }
    # The one that waits takes what is keyed, and leaves the bench where it is.
    await asked(client, second, "measurements", stem, 201)
    assert (await client.get("/api/v1/health")).json()["job"] == first
    await asked(client, second, "up", {"characteristic": "valve.recess", "position": "1I"})
    assert (await client.get("/api/v1/health")).json()["job"] == second
    await asked(client, first, "rework", {"position": "1I", "part": "valve", "what": "refaced"})
    await asked(client, first, "up", {"characteristic": "valve.recess", "position": "1I"})
    assert (await client.get("/api/v1/health")).json()["job"] == first
    assert len((await record_of(client, second))["measurements"]) == 1
    assert (await record_of(client, first))["measurements"] == []
