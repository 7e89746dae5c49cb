"""Jobs and plans over HTTP."""

import json
import re

import httpx
import pytest

from api.export import WRITERS
from daq.head.plan import shipped_plans
from tests.api.export.readers import csv_rows, members, parquet_rows, pdf_pages, workbook

RFC3339_UTC = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z")


async def test_a_job_is_opened_found_and_read(client, job):
    listed = (await client.get("/api/v1/jobs", params={"number": "J-1"})).json()["jobs"]
    assert [each["id"] for each in listed] == [job]
    read = (await client.get(f"/api/v1/jobs/{job}")).json()
    assert read["number"] == "J-1"
    assert read["remaining"] == 8 * (1 + 6 + 6 + 1)
    assert RFC3339_UTC.fullmatch(read["opened_at"])
    assert (await client.get("/api/v1/jobs", params={"number": "J-2"})).json() == {
        "jobs": [],
        "next": None,
    }


async def test_what_was_said_of_a_job_stands_in_it(client):
    said = {
        "number": "J/7 ä",
        "plan": "four-by-two",
        "customer": "invented customer",
        "complaint": "smokes\nwhen cold",
        "cylinder_one": "thermostat end",
        "person": "A. Person",
    }
    answer = await client.post("/api/v1/jobs", json=said)
    assert answer.status_code == 201
    read = (await client.get(f"/api/v1/jobs/{answer.json()['id']}")).json()
    assert {key: read[key] for key in said} == said


async def test_a_number_is_given_once(client, job):
    answer = await client.post("/api/v1/jobs", json={"number": "J-1", "plan": "four-by-two"})
    assert answer.status_code == 409
    assert job in answer.json()["detail"]
    assert len((await client.get("/api/v1/jobs")).json()["jobs"]) == 1


async def test_an_unknown_plan_and_an_unknown_job(client):
    answer = await client.post("/api/v1/jobs", json={"number": "J", "plan": "eight-by-four"})
    assert answer.status_code == 404
    assert "there are four-by-two" in answer.json()["detail"]
    for path in ("", "/record", "/export/csv"):
        answer = await client.get(f"/api/v1/jobs/nope{path}")
        assert answer.status_code == 404
        assert "no job 'nope'" in answer.json()["detail"]


async def test_the_first_characteristic_goes_up_by_itself(client, job):
    bench = (await client.get("/api/v1/bench")).json()
    assert bench["job"] == job
    assert bench["target"] == {
        "characteristic": "valve.stem_runout",
        "position": "1I",
        "place": None,
    }
    assert bench["kind"] == "turn"
    assert "sodium" in bench["cautions"][0]["text"]
    record = (await client.get(f"/api/v1/jobs/{job}/record")).json()
    assert record["capturing"]["characteristic"] == "valve.stem_runout"


async def test_a_record_with_nothing_measured_accepts_nothing(client, job):
    record = (await client.get(f"/api/v1/jobs/{job}/record")).json()
    assert record["measurements"] == []
    assert {each["decision"] for each in record["decisions"]} == {"not measured"}
    assert len(record["decisions"]) == 16
    assert record["head"]["entries"] == 2
    assert re.fullmatch("[0-9a-f]{64}", record["head"]["hash"])


async def test_plans_are_listed_added_and_used(client):
    before = (await client.get("/api/v1/plans")).json()["plans"]
    assert [plan["name"] for plan in before] == list(shipped_plans())
    own = {
        "name": "one-by-two",
        "title": "Invented single",
        "source": "invented for a test",
        "head": {"cylinders": 1},
        "steps": [
            {
                "characteristic": "valve.stem_runout",
                "limit": {"upper": "0.03", "kind": "guide", "source": "invented"},
            }
        ],
    }
    added = await client.post("/api/v1/plans", json=own)
    assert added.status_code == 201
    assert added.json()["steps"][0]["limit"]["upper"] == "0.03"
    after = (await client.get("/api/v1/plans")).json()["plans"]
    assert [plan["name"] for plan in after] == sorted([*shipped_plans(), "one-by-two"])
    job = (await client.post("/api/v1/jobs", json={"number": "S", "plan": "one-by-two"})).json()
    assert (await client.get(f"/api/v1/jobs/{job['id']}")).json()["remaining"] == 2


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"limit": {"upper": "30", "kind": "maker", "source": "x"}}, "run-out limit of 30 mm"),
        ({"limit": {"upper": "NaN", "kind": "maker", "source": "x"}}, "upper"),
        ({"limit": {"kind": "maker", "source": "x"}}, "needs 'lower', 'upper' or both"),
        ({"characteristic": "valve.colour"}, "there is no characteristic 'valve.colour'"),
        ({"depths_mm": ["1"]}, "both 'depths_mm' and 'directions'"),
        ({"colour": "red"}, "colour is not a key"),
    ],
)
async def test_a_plan_that_makes_no_sense_is_refused(client, change, said):
    step = {"characteristic": "valve.stem_runout", **change}
    plan = {
        "name": "p",
        "title": "t",
        "source": "invented",
        "head": {"cylinders": 1},
        "steps": [step],
    }
    answer = await client.post("/api/v1/plans", json=plan)
    assert answer.status_code == 422
    assert said in answer.json()["detail"]
    listed = (await client.get("/api/v1/plans")).json()["plans"]
    assert [plan["name"] for plan in listed] == list(shipped_plans())


async def test_two_who_open_the_same_number_at_once_get_one_job(client):
    import asyncio

    asked = {"number": "J-9", "plan": "four-by-two"}
    answers = await asyncio.gather(*(client.post("/api/v1/jobs", json=asked) for _ in range(8)))
    assert sorted(each.status_code for each in answers) == [201] + [409] * 7


async def test_the_description_is_openapi_3_1_and_says_problem_details(client):
    described = (await client.get("/openapi.json")).json()
    assert described["openapi"].startswith("3.1")
    measure = described["paths"]["/api/v1/jobs/{job}/measurements"]["post"]
    assert list(measure["responses"]["422"]["content"]) == ["application/problem+json"]
    value = described["components"]["schemas"]["MeasurementAsked"]["properties"]["value"]
    assert value["type"] == ["string", "number"]
    shown = described["components"]["schemas"]["Measurement"]["properties"]["value"]
    assert {"type": "number"} not in shown["anyOf"]
    for path, operations in described["paths"].items():
        assert path.startswith("/api/v1/"), path
        for operation in operations.values():
            assert operation["responses"]["default"]["content"]["application/problem+json"]


async def test_answers_have_the_shape_that_is_described(client, job, stem):
    import jsonschema

    described = (await client.get("/openapi.json")).json()
    await client.post(f"/api/v1/jobs/{job}/measurements", json=stem)

    async def fits(path: str, route: str) -> None:
        answer: httpx.Response = await client.get(path)
        content = described["paths"][route]["get"]["responses"]["200"]["content"]
        schema = {**content["application/json"]["schema"], "components": described["components"]}
        jsonschema.Draft202012Validator(schema).validate(answer.json())

    await fits(f"/api/v1/jobs/{job}", "/api/v1/jobs/{job}")
    await fits(f"/api/v1/jobs/{job}/record", "/api/v1/jobs/{job}/record")
    for name in ("health", "gauges", "events", "jobs", "plans", "bench"):
        await fits(f"/api/v1/{name}", f"/api/v1/{name}")


async def test_the_other_bank_is_said_when_the_job_is_opened_and_stands_in_every_export(client):
    said = {"number": "V-1", "plan": "four-by-two", "bank": "right", "numbers": [2, 4, 6, 8]}
    job = (await client.post("/api/v1/jobs", json=said)).json()
    assert job["bank"] == "right"
    assert (await client.get("/api/v1/bench")).json()["target"]["position"] == "2I"
    stem = {"characteristic": "valve.stem_runout", "position": "8E", "value": "0.01", "unit": "mm"}
    path = f"/api/v1/jobs/{job['id']}"
    await client.post(f"{path}/measurements", json=stem | {"came": "sent"})
    refused = await client.post(
        f"{path}/measurements", json=stem | {"came": "sent", "position": "1E"}
    )
    assert "there are 2I, 2E, 4I" in refused.json()["detail"]
    written = {f: (await client.get(f"{path}/export/{f}")).content for f in WRITERS}
    assert csv_rows(written["csv"])[0]["bank"] == "right"
    assert parquet_rows(written["parquet"])[0]["bank"] == "right"
    assert json.loads(written["json"])["job"]["bank"] == "right"
    assert b"the cylinder head of the right bank" in written["qif"]
    assert "right bank" in str(list(workbook(written["xlsx"]).worksheets[0].values))
    assert "Cylinder 1 is at: not said" in " ".join(pdf_pages(written["pdf"]))
    for name in ("pdf", "labels"):
        assert "right bank" in " ".join(page for page in pdf_pages(written[name]))
    assert b"right bank" in members(written["bundle"])["README.txt"]


async def test_a_bank_whose_cylinders_do_not_fit_is_refused(client):
    said = {"number": "V-2", "plan": "four-by-two", "bank": "right", "numbers": [2, 4]}
    answer = await client.post("/api/v1/jobs", json=said)
    assert answer.status_code == 422
    assert "names 2 cylinders" in answer.json()["detail"]
