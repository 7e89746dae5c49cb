"""Over HTTP: a value shown back before it is kept, its question answered; the catalogue."""

from daq.head.characteristic import CATALOGUE


def path(job, end="measurements"):
    return f"/api/v1/jobs/{job}/{end}"


async def test_a_value_is_shown_back_and_nothing_is_kept(client, job, stem):
    shown = await client.post(path(job, "measurements/check"), json={**stem, "gauge": "micrometer"})
    assert shown.status_code == 200
    back = shown.json()
    assert back["shown"] == "6.971 mm (0.2744 in)"
    assert back["question"] is None
    assert back["tool"]["kind"] == "micrometer"
    assert (await client.get(path(job, "record"))).json()["measurements"] == []
    kept = (await client.post(path(job), json={**stem, "gauge": "micrometer"})).json()
    for key in ("value", "unit", "uncertainty", "status", "limits", "limit_source"):
        assert kept[key] == back[key], key


async def test_a_recess_is_shown_back_with_its_word(client, job):
    asked = {
        "characteristic": "valve.recess",
        "position": "2E",
        "value": "-0.85",
        "unit": "mm",
        "came": "keyed",
    }
    back = (await client.post(path(job, "measurements/check"), json=asked)).json()
    assert back["shown"] == "0.85 mm proud (0.0335 in)"
    assert back["status"] == "FAIL"
    assert "invented maker's figure" in back["limit_source"]


async def test_a_question_is_a_problem_until_it_is_answered(client, job, stem):
    inch = {**stem, "value": "0.2745"}
    asked = await client.post(path(job), json=inch)
    assert asked.status_code == 409
    problem = asked.json()
    assert problem["question"].endswith("is this really 1I, and in mm?")
    assert problem["question"] in problem["detail"]
    back = await client.post(path(job, "measurements/check"), json=inch)
    assert back.json()["question"] == problem["question"]
    assert (await client.get(path(job, "record"))).json()["measurements"] == []
    kept = await client.post(path(job), json={**inch, "confirmed": True})
    assert kept.status_code == 201
    assert "somebody said that it is right" in kept.json()["warnings"][0]


async def test_a_question_does_not_use_up_its_key(client, job, stem):
    key = {"idempotency-key": "asked"}
    odd = {**stem, "value": "9.9"}
    assert (await client.post(path(job), json=odd, headers=key)).status_code == 409
    answered = await client.post(path(job), json={**odd, "confirmed": True}, headers=key)
    assert answered.status_code == 201


async def test_temperatures_of_head_and_valves_apart(client, job):
    asked = {"part_c": "38", "gauge_c": "20", "of": "head"}
    note = (await client.post(path(job, "temperature"), json=asked)).json()["entries"][0]
    assert "the head is 18 K warmer than the gauge" in note["body"]["warning"]
    wrong = await client.post(path(job, "temperature"), json={**asked, "of": "piston"})
    assert wrong.status_code == 422


async def test_what_a_plan_can_ask_for_is_listed_with_cautions_and_schema(client):
    answer = (await client.get("/api/v1/characteristics")).json()
    listed = {each["name"]: each for each in answer["characteristics"]}
    assert list(listed) == list(CATALOGUE)
    assert listed["spring.load"]["places"] == "lengths"
    assert "never past solid" in listed["spring.load"]["cautions"][0]["text"]
    assert listed["valve.stem_runout"]["usual_mm"] == ["0.002", "0.5"]
    assert "steps" in answer["plan_schema"]["properties"]


async def test_limits_are_filled_in_from_a_table(client):
    table = (
        "characteristic,use,side,upper,unit,source\n"
        "guide.clearance_max,wear,E,0.006,in,invented manual\n"
        "seat.runout,,,50,mm,invented manual\n"
    )
    url = "/api/v1/plans/four-by-two-whole/limits"
    seen = (await client.post(url, json={"csv": table})).json()
    assert (seen["taken"], seen["kept"]) == (1, False)
    assert seen["bad"][0]["line"] == 3
    assert "a run-out limit of 50 mm cannot be one" in seen["bad"][0]["text"]
    kept = (await client.post(url, json={"csv": table, "keep": True})).json()
    assert kept["kept"] is True
    plans = (await client.get("/api/v1/plans")).json()["plans"]
    mine = next(plan for plan in plans if plan["name"] == "four-by-two-whole")
    step = next(s for s in mine["steps"] if s["characteristic"] == "guide.clearance_max")
    assert step["limit_exhaust"]["upper"] == "0.1524"
    assert step["limit_exhaust"]["kind"] == "maker"


async def test_a_doubtful_plan_is_asked_about(client):
    limit = {"upper": "2.54", "kind": "maker", "source": "invented"}
    plan = {
        "name": "doubtful",
        "title": "t",
        "source": "invented",
        "head": {"cylinders": 1},
        "steps": [{"characteristic": "guide.clearance_max", "limit": limit}],
    }
    answer = await client.post("/api/v1/plans", json=plan)
    assert answer.status_code == 422
    assert "usual are 0.020 to 0.5 mm" in answer.json()["detail"]
    limit["acknowledged_by"] = "A. Person"
    assert (await client.post("/api/v1/plans", json=plan)).status_code == 201
