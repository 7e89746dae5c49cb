"""Bringing in over HTTP: shown first, bad rows named, good ones kept, once. Invented values."""

import base64
import csv
import io
import math
from decimal import Decimal
from pathlib import Path

import httpx
import openpyxl
import pytest

from api.app import create_app
from api.bring.calibrations import calibrated
from api.build import build
from api.config import ConfigError, load_config
from api.rest.body import BODY_BYTES_MAX
from api.rest.bring import FILE_BYTES_MOST
from tests.api.export.readers import READERS, pdf_pages

DCC = (Path(__file__).parents[3] / "fixtures/dcc/example-dcc.xml").read_text()
HEADER = "characteristic,position,depth_mm,direction,value,unit,operator,note"
GOOD = "valve.stem_diameter,1I,12,along,6.971,mm,I. Nvented,by hand"


def table(*rows: str) -> str:
    return "\r\n".join([HEADER, *rows]) + "\r\n"


async def bring(client, job, text, **more):
    answer = await client.post(f"/api/v1/jobs/{job}/bring", json={"csv": text, **more})
    assert answer.status_code == 200, answer.text
    return answer.json()


async def kept(client, job):
    record = (await client.get(f"/api/v1/jobs/{job}/record")).json()
    return [m for m in record["measurements"] if m["came"] != "derived"]


async def test_a_table_is_shown_before_it_counts(client, job):
    shown = await bring(client, job, table(GOOD))
    assert Decimal(shown["rows"][0]["checked"]["value"]) == Decimal("6.971")
    assert shown["kept"] == 0
    assert await kept(client, job) == []


async def test_bad_rows_are_named_and_good_ones_kept(client, job):
    text = table(
        GOOD,
        "valve.stem_diameter,9X,12,along,6.971,mm,,",
        'valve.stem_diameter,1E,12,along,"6,971",mm,,',
        "valve.colour,1E,12,along,6.971,mm,,",
        "valve.stem_diameter,1E,12,along,6.971,parsec,,",
        "valve.stem_diameter,1E,,,6.971,mm,,",
        "valve.stem_diameter,,12,along,6.971,mm,,",
        GOOD.replace("1I", "1E"),
    )
    found = await bring(client, job, text, keep=True)
    assert found["kept"] == 2
    reasons = {row["line"]: row["text"] for row in found["bad"]}
    assert set(reasons) == {3, 4, 5, 6, 7, 8}
    words = {3: "9X", 4: "point", 5: "valve.colour", 6: "parsec", 7: "place", 8: "position"}
    for line, word in words.items():
        assert word in reasons[line], reasons[line]
    assert [m["position"] for m in await kept(client, job)] == ["1I", "1E"]


async def test_the_same_file_brought_twice_is_kept_once(client, job):
    first = await bring(client, job, table(GOOD), keep=True)
    again = await bring(client, job, table(GOOD), keep=True)
    assert first["rows"][0]["measurement_id"] == again["rows"][0]["measurement_id"]
    assert len(await kept(client, job)) == 1


async def test_an_unlikely_value_waits_for_somebody_to_say_that_it_is_right(client, job):
    odd = table(GOOD.replace("6.971", "4.2"))
    found = await bring(client, job, odd, keep=True)
    assert found["kept"] == 0
    assert found["bad"][0]["line"] == 2
    assert (await bring(client, job, odd, keep=True, right=[2]))["kept"] == 1


async def test_a_workbook_is_a_table_too(client, job):
    book = openpyxl.Workbook()
    for line in csv.reader(io.StringIO(table(GOOD))):
        book.active.append(line)
    book.active["E2"] = 6.971
    held = io.BytesIO()
    book.save(held)
    body = {"xlsx": base64.b64encode(held.getvalue()).decode(), "keep": True}
    answer = await client.post(f"/api/v1/jobs/{job}/bring", json=body)
    assert answer.json()["kept"] == 1
    assert Decimal((await kept(client, job))[0]["value"]) == Decimal("6.971")


async def test_a_record_that_was_exported_is_read_back_to_the_last_digit(client, job, stem):
    await client.post(f"/api/v1/jobs/{job}/measurements", json={**stem, "note": "=1+1"})
    exported = (await client.get(f"/api/v1/jobs/{job}/export/csv")).text
    opened = await client.post("/api/v1/jobs", json={"number": "J-2", "plan": "four-by-two"})
    other = opened.json()["id"]
    found = await bring(client, other, exported, keep=True)
    assert (found["kept"], found["bad"]) == (1, [])
    one, two = (await kept(client, job))[0], (await kept(client, other))[0]
    assert Decimal(one["value"]) == Decimal(two["value"])
    for key in ("unit", "position", "characteristic", "place", "note", "measured_at"):
        assert one[key] == two[key], key


@pytest.mark.parametrize(
    ("body", "why"),
    [
        ({"csv": "a,b\n1,2\n"}, "there is no column 'a'"),
        ({"csv": " \n"}, "the table is empty"),
        ({"csv": 'characteristic\n"open'}, "not CSV"),
        ({"csv": "value,value\n1,2\n"}, "stands twice"),
        ({}, "one of the two"),
        ({"xlsx": "%%%"}, "not base64"),
        ({"xlsx": "AAAA"}, "no workbook"),
    ],
)
async def test_what_is_no_table_is_refused_with_a_sentence(client, job, body, why):
    answer = await client.post(f"/api/v1/jobs/{job}/bring", json=body)
    assert answer.status_code == 422
    assert why in answer.json()["detail"]


async def test_a_job_that_is_not_there_is_said(client):
    answer = await client.post("/api/v1/jobs/none/bring", json={"csv": table(GOOD)})
    assert answer.status_code == 404


PLAN = (
    "characteristic,depths_mm,directions,upper,unit,kind,source\n"
    "valve.stem_runout,,,0.03,mm,guide,invented\n"
    "valve.stem_diameter,12 48,along across,,,,\n"
    "valve.colour,,,,,,\n"
)
ABOUT = {
    "name": "brought", "title": "Invented", "source": "invented",
    "head": {"cylinders": 1, "intake": 1, "exhaust": 1},
}  # fmt: skip


async def test_a_plan_comes_from_a_table(client):
    answer = await client.post("/api/v1/plans/bring", json={"csv": PLAN, **ABOUT})
    found = answer.json()
    assert answer.status_code == 200, found
    assert [row["line"] for row in found["bad"]] == [4]
    assert "valve.colour" in found["bad"][0]["text"]
    assert not found["kept"]
    names = [plan["name"] for plan in (await client.get("/api/v1/plans")).json()["plans"]]
    assert "brought" not in names
    asked = {"csv": PLAN, "keep": True, **ABOUT}
    taken = (await client.post("/api/v1/plans/bring", json=asked)).json()
    steps = {step["characteristic"]: step for step in taken["plan"]["steps"]}
    assert steps["valve.stem_runout"]["limit"]["upper"] == "0.03"
    assert len(steps["valve.stem_diameter"]["depths_mm"]) == 2
    job = await client.post("/api/v1/jobs", json={"number": "J-9", "plan": "brought"})
    assert job.status_code == 201


async def test_limits_come_from_a_workbook_and_bad_rows_are_named(client):
    book = openpyxl.Workbook()
    book.active.append(["characteristic", "upper", "unit", "kind", "source"])
    book.active.append(["valve.stem_runout", 0.025, "mm", "maker", "invented manual"])
    book.active.append(["valve.colour", 0.025, "mm", "maker", "invented manual"])
    book.active.append(["valve.stem_runout", 0.02, "mm", "maker", None])
    held = io.BytesIO()
    book.save(held)
    body = {"xlsx": base64.b64encode(held.getvalue()).decode()}
    path = "/api/v1/plans/four-by-two/bring"
    found = (await client.post(path, json=body)).json()
    assert (found["taken"], found["kept"]) == (1, False)
    assert {row["line"] for row in found["bad"]} == {3, 4}
    taken = (await client.post(path, json={**body, "keep": True})).json()
    runout = next(s for s in taken["plan"]["steps"] if s["characteristic"] == "valve.stem_runout")
    assert runout["limit"]["upper"] == "0.025"
    plans = (await client.get("/api/v1/plans")).json()["plans"]
    assert next(plan for plan in plans if plan["name"] == "four-by-two") == taken["plan"]


async def calibrate(client, **more):
    body = {"dcc": DCC.replace("DI-0002", "G-1037"), "gauge": "runout indicator", **more}
    return await client.post("/api/v1/gauges/calibration", json=body)


async def test_a_certificate_is_shown_and_counts_from_the_next_start(client, service, bench_toml):
    shown = (await calibrate(client)).json()
    assert shown["certificate"]["certificate"] == "CAL-2026-0118"
    assert (shown["kept"], shown["doubts"], shown["error_limit_mm"]) == (False, [], "0.005")
    gauge = service.instruments["runout indicator"]
    assert calibrated(service.data, gauge) == gauge, "shown is not accepted"
    answer = await calibrate(client, keep=True, person="I. Nvented", due="2027-01-18")
    assert answer.json()["kept"]
    now = calibrated(service.data, gauge)
    assert (now.certificate, str(now.calibration_due)) == ("CAL-2026-0118", "2027-01-18")
    assert now.error_limit_mm == float(Decimal("0.005"))
    again = build(load_config(bench_toml), service.run._journal)
    assert again.instruments["runout indicator"] == now


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({"gauge": "micrometer", "person": "P", "due": "2027-01-18"}, "for serial 'G-1037'"),
        ({"person": "P"}, "'due' are needed"),
        ({"person": "P", "due": "2026-01-01"}, "does not lie after"),
        ({"gauge": "nobody's"}, "there is no gauge"),
    ],
)
async def test_a_certificate_that_is_not_this_gauges_is_not_kept(client, service, more, why):
    answer = await calibrate(client, keep=True, **more)
    assert why in answer.json()["detail"]
    assert not (service.data / "calibrations").exists()


async def test_an_accepted_calibration_that_was_altered_keeps_the_bench_from_starting(
    client, service, bench_toml
):
    await calibrate(client, keep=True, person="P", due="2027-01-18")
    (service.data / "calibrations/G-1037.json").write_text("{")
    with pytest.raises(ConfigError, match="cannot be read"):
        build(load_config(bench_toml), service.run._journal)


async def test_what_an_accepted_certificate_says_goes_into_the_budget_and_into_every_export(
    client, service, bench_toml, stem
):
    """Its largest error with uncertainty, 0.005 mm, is the half width of what the gauge may be off
    (rectangular, so over the root of three: JCGM 100:2008, 4.3.7); the readings stay as they were.
    """
    answer = await client.post(
        "/api/v1/gauges/calibration",
        json={
            "dcc": DCC.replace("DI-0002", "G-1042"), "gauge": "micrometer",
            "keep": True, "person": "I. Nvented", "due": "2027-01-18",
        },
    )  # fmt: skip
    assert answer.json()["kept"], answer.text
    again = create_app(build(load_config(bench_toml), service.run._journal))
    async with (
        again.router.lifespan_context(again),
        httpx.AsyncClient(
            transport=httpx.ASGITransport(again), base_url="http://127.0.0.1:8620"
        ) as later,
    ):
        job = (
            await later.post("/api/v1/jobs", json={"number": "J-2", "plan": "four-by-two"})
        ).json()
        asked = {**stem, "gauge": "micrometer"}
        path = f"/api/v1/jobs/{job['id']}"
        m = (await later.post(f"{path}/measurements", json=asked)).json()
        record = (await later.get(f"{path}/record")).json()
        files = {name: (await later.get(f"{path}/export/{name}")).content for name in STATING}
    (value,) = [each for each in record["measurements"] if each["id"] == m["id"]]
    assert Decimal(value["value"]) == Decimal("6.971"), "no reading is corrected"
    limits = [line for line in value["detail"]["budget"] if "error limit" in line["name"]]
    assert float(limits[0]["u"]) == pytest.approx(0.005 / math.sqrt(3), rel=1e-2)
    assert Decimal(value["uncertainty"]) >= 2 * Decimal(limits[0]["u"])
    for name, said in files.items():
        text = STATING[name](said)
        assert "CAL-2026-0118" in text, name
        assert "2027-01-18" in text, name


STATING = {
    "csv": bytes.decode,
    "json": bytes.decode,
    "qif": bytes.decode,
    "pdf": lambda data: " ".join(pdf_pages(data)),
    "xlsx": lambda data: " ".join(READERS["xlsx"].atoms(data).values()),
    "parquet": lambda data: " ".join(READERS["parquet"].atoms(data).values()),
}


async def test_a_file_may_be_larger_than_another_body_but_not_without_end(client, job):
    rows = [f"valve.stem_diameter,1I,{n}.5,along,6.971,mm,I. Nvented," for n in range(1500)]
    text = table(*rows)
    assert len(text) > BODY_BYTES_MAX
    found = await bring(client, job, text)
    assert len(found["rows"]) + len(found["bad"]) == 1500
    path = f"/api/v1/jobs/{job}"
    answer = await client.post(f"{path}/bring", json={"csv": "x" * FILE_BYTES_MOST})
    assert (answer.status_code, str(FILE_BYTES_MOST) in answer.json()["detail"]) == (413, True)
    answer = await client.post(f"{path}/skip", json={"reason": "x" * BODY_BYTES_MAX})
    assert answer.status_code == 413
