"""Tables with the mistakes people make: a bad row is named with its reason, a good one is kept,
and a number is never taken for another one. Invented values."""

import base64
import io
from datetime import date

import openpyxl
import pytest

from api.bring.dcc import read
from daq.head.errors import RefusedError
from tests.api.bring.test_bring import DCC, GOOD, bring, kept, table

COLUMNS = ["characteristic", "position", "depth_mm", "direction", "value", "unit"]
ROW = ["valve.stem_diameter", "1I", 12, "along", 6.971, "mm"]
LIMITS = ["characteristic", "upper", "unit", "kind", "source"]
LIMIT = ["valve.stem_runout", "0.03", "mm", "maker", "invented manual"]


def book(*rows, merged: str | None = None) -> str:
    made = openpyxl.Workbook()
    for row in rows:
        made.active.append(row)
    if merged:
        made.active.merge_cells(merged)
    held = io.BytesIO()
    made.save(held)
    return base64.b64encode(held.getvalue()).decode()


@pytest.mark.parametrize(
    "text",
    [
        table(GOOD).replace(",", ";"),
        table(GOOD).replace(",", "\t"),
        "sep=;\r\n" + table(GOOD).replace(",", ";"),
        "\ufeff" + table(GOOD),
        table("", GOOD, ",,,,,,,", ""),
        table(GOOD).replace("\r\n", "\n"),
        table(GOOD).replace("6.971,mm", "0.274449,in"),
    ],
    ids=["semicolons", "tabs", "sep", "mark", "empty rows", "unix", "inch"],
)
async def test_what_says_the_same_in_another_way_is_taken(client, job, text):
    found = await bring(client, job, text, keep=True)
    assert (found["kept"], found["bad"]) == (1, [])
    (m,) = await kept(client, job)
    assert float(m["value"]) == pytest.approx(6.971, abs=1e-5)


@pytest.mark.parametrize(
    ("old", "new", "why"),
    [
        ("6.971", '"6,971"', "write it with a point: '6.971'"),
        ("6.971", "6,971", "more cells than columns"),
        ("6.971", '"1,006.971"', "not a plain decimal number"),
        ("6.971", "6.971e0", "no exponent"),
        ("6.971", "2026-09-06", "not a plain decimal number"),
        ("6.971", "", "value missing"),
        ("mm", '"in"""', "unit"),
        ("1I", "1i", "there is no position"),
    ],
)
async def test_a_bad_row_is_named_and_the_good_one_beside_it_kept(client, job, old, new, why):
    good = GOOD.replace("1I", "1E")
    found = await bring(client, job, table(GOOD.replace(old, new), good), keep=True)
    assert [row["line"] for row in found["bad"]] == [2]
    assert why in found["bad"][0]["text"]
    assert [m["position"] for m in await kept(client, job)] == ["1E"]


@pytest.mark.parametrize(
    ("cell", "why"),
    [
        ("=6.9+0.071", "no result of =6.9+0.071"),
        ("6,971", "write it with a point"),
        (date(1997, 9, 6), "not a plain decimal number"),
        (True, "not a plain decimal number"),
        ("#DIV/0!", "not a plain decimal number"),
        (None, "value missing"),
    ],
)
async def test_a_cell_that_is_no_number_is_named(client, job, cell, why):
    good = [ROW[0], "1E", *ROW[2:]]
    body = {"xlsx": book(COLUMNS, [*ROW[:4], cell, "mm"], [], good), "keep": True}
    found = (await client.post(f"/api/v1/jobs/{job}/bring", json=body)).json()
    assert [row["line"] for row in found["bad"]] == [2]
    assert why in found["bad"][0]["text"]
    assert found["kept"] == 1


async def test_a_merged_cell_stands_in_its_first_row_only(client, job):
    body = {"xlsx": book(COLUMNS, ROW, [ROW[0], "1E", *ROW[2:]], merged="A2:A3")}
    found = (await client.post(f"/api/v1/jobs/{job}/bring", json=body)).json()
    assert [row["line"] for row in found["rows"]] == [2]
    assert found["bad"] == [{"line": 3, "text": "characteristic missing"}]


async def test_a_number_is_the_one_that_the_spreadsheet_shows(client, job):
    body = {"xlsx": book(COLUMNS, [*ROW[:4], 0.1 + 0.2 + 6.6, "mm"])}
    found = (await client.post(f"/api/v1/jobs/{job}/bring", json=body)).json()
    assert found["rows"][0]["checked"]["value"].rstrip("0") == "6.9"


async def limits(client, *rows, keep=False):
    text = "\n".join(",".join(row) for row in (LIMITS, *rows))
    answer = await client.post("/api/v1/plans/four-by-two/bring", json={"csv": text, "keep": keep})
    assert answer.status_code == 200, answer.text
    return answer.json()


def runout_of(plan) -> str:
    step = next(s for s in plan["steps"] if s["characteristic"] == "valve.stem_runout")
    return step["limit"]["upper"]


@pytest.mark.parametrize(
    ("row", "why"),
    [
        (["valve.stem_runout", "0,03", *LIMIT[2:]], "more cells than columns"),
        (["valve.stem_runout", '"0,03"', *LIMIT[2:]], "write it with a point"),
        (["valve.stem_runout", "30", *LIMIT[2:]], "lost decimal point"),
        (["valve.stem_runout", "0.03", "N", *LIMIT[3:]], "cannot stand for"),
        (["valve.stem_runout", "0.03", "mm", "boss", "invented"], "kind"),
        (["valve.stem_runout", "0.03", "mm", "maker", ""], "source is missing"),
        (["", "0.03", *LIMIT[2:]], "characteristic missing"),
    ],
)
async def test_a_limit_that_is_not_clear_is_not_taken(client, row, why):
    plans = (await client.get("/api/v1/plans")).json()["plans"]
    before = runout_of(next(plan for plan in plans if plan["name"] == "four-by-two"))
    found = await limits(client, row, keep=True)
    assert [bad["line"] for bad in found["bad"]] == [2]
    assert why in found["bad"][0]["text"]
    assert (found["taken"], found["kept"]) == (0, False)
    assert runout_of(found["plan"]) == before


async def test_a_comma_in_the_last_number_of_a_row_does_not_cut_it_off(client):
    columns = ["characteristic", "unit", "kind", "source", "upper"]
    text = "\n".join([",".join(columns), "valve.recess,mm,maker,invented,1,40"])
    answer = await client.post("/api/v1/plans/four-by-two/bring", json={"csv": text})
    assert "more cells than columns" in answer.json()["bad"][0]["text"]
    assert answer.json()["taken"] == 0


async def test_a_limit_that_is_said_twice_is_asked_about(client):
    found = await limits(client, LIMIT, [LIMIT[0], "0.05", *LIMIT[2:]])
    assert found["bad"] == [
        {"line": 3, "text": "line 2 says this limit already; which one is right?"}
    ]
    assert runout_of(found["plan"]) == "0.03"


async def test_a_column_that_nobody_knows_is_not_passed_over(client):
    text = "characteristic,uper,unit,source\nvalve.stem_runout,0.03,mm,invented\n"
    answer = await client.post("/api/v1/plans/four-by-two/bring", json={"csv": text})
    assert answer.status_code == 422
    assert "there is no column 'uper'" in answer.json()["detail"]


async def test_a_plan_with_a_shifted_row_keeps_its_other_steps(client):
    text = (
        "characteristic,source,unit,kind,upper\n"
        "valve.stem_runout,invented,mm,guide,0,03\n"
        "valve.face_runout,invented,mm,guide,0.05\n"
    )
    about = {
        "name": "shifted", "title": "Invented", "source": "invented",
        "head": {"cylinders": 1, "intake": 1, "exhaust": 1},
    }  # fmt: skip
    found = (await client.post("/api/v1/plans/bring", json={"csv": text, **about})).json()
    assert [row["line"] for row in found["bad"]] == [2]
    assert [step["characteristic"] for step in found["plan"]["steps"]] == ["valve.face_runout"]


def test_a_certificate_that_was_cut_off_is_refused():
    for share in (0.3, 0.6, 0.99):
        with pytest.raises(RefusedError, match="not XML"):
            read(DCC[: int(len(DCC) * share)])


@pytest.mark.parametrize("version", ["2.4.0", "4.0.0"])
def test_another_version_is_read_and_doubted(version):
    found = read(DCC.replace('schemaVersion="3.2.1"', f'schemaVersion="{version}"'))
    assert found.points
    assert found.doubts == (f"it is of version {version}, and what is read here is 3.x",)


def test_a_certificate_says_the_letters_it_says_whatever_its_first_line_claims():
    body = DCC[DCC.index("?>") + 2 :].replace("Example Lab", "Prüflabor 検査")
    for encoding in ("UTF-8", "ISO-8859-1", "UTF-16"):
        found = read(f'<?xml version="1.0" encoding="{encoding}"?>{body}')
        assert found.laboratory == "Prüflabor 検査"


@pytest.mark.parametrize(
    "entities",
    [
        '<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;">',
        '<!ENTITY c SYSTEM "file:///etc/hostname">',
        '<!ENTITY % p SYSTEM "http://127.0.0.1:9/x.dtd"> %p;',
    ],
)
def test_entities_of_a_file_are_never_followed(entities):
    body = DCC[DCC.index("?>") + 2 :].replace("Example Lab", "&c;")
    with pytest.raises(RefusedError, match=r"document type|not XML"):
        read(f"<!DOCTYPE d [{entities}]>{body}")
