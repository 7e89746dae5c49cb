"""One contract for all writers, and what each format asks for by its own standard."""

import csv
import io
import json
from decimal import Decimal

import pytest

from api.export import ALONE, DESCRIPTION, WRITERS, file_stem, writer_for
from daq.head.errors import UnknownError
from daq.head.view import RecordView
from tests.api.export.readers import READERS, facts_of


@pytest.fixture
async def view(client, job, stem) -> RecordView:
    """A record with kept, voided and derived values, and text that a spreadsheet would run."""
    path = f"/api/v1/jobs/{job}/measurements"
    first = {**stem, "person": "=cmd()", "note": '+1 "quoted", and\na line', "gauge": "@home"}
    m = (await client.post(path, json=first)).json()
    await client.post(f"{path}/{m['id']}/void", json={"reason": "-slipped"})
    await client.post(path, json={**stem, "person": "Ä. Person"})
    bore = {**stem, "characteristic": "guide.diameter", "value": "7.012"}
    await client.post(path, json={**bore, "place": {"depth_mm": "6", "direction": "across"}})
    recess = {"characteristic": "valve.recess", "position": "1E", "value": "-0.05", "unit": "mm"}
    await client.post(path, json={**recess, "came": "sent"})
    return RecordView.model_validate((await client.get(f"/api/v1/jobs/{job}/record")).json())


@pytest.mark.parametrize("name", WRITERS)
async def test_every_writer_keeps_the_contract(client, job, view, name):
    writer = writer_for(name)
    chunks = list(writer.write(view, ALONE))
    assert all(isinstance(chunk, bytes) for chunk in chunks)
    whole = b"".join(chunks)
    again = RecordView.model_validate_json(view.model_dump_json())
    assert b"".join(writer.write(again, ALONE)) == whole, "the same record gave other bytes"
    assert whole
    assert not whole.startswith(b"\xef\xbb\xbf")
    if name == "labels":  # they name parts, not values
        return
    found = READERS[name].facts(whole)
    assert set(found) == set(facts_of(view))
    assert {m.id for m in view.measurements} <= set(found)
    assert any("slipped" in atom for atom in READERS[name].atoms(whole).values()), (
        "a voided value goes out with its reason"
    )
    served = await client.get(f"/api/v1/jobs/{job}/export/{name}")
    assert served.status_code == 200, served.text
    assert served.headers["content-type"] == writer.media_type
    assert f'filename="J-1{writer.suffix}"' in served.headers["content-disposition"]


def rows_of(view):
    text = b"".join(WRITERS["csv"].write(view, ALONE)).decode()
    return text, list(csv.DictReader(io.StringIO(text, newline="")))


def test_csv_is_rfc_4180(view):
    text, rows = rows_of(view)
    assert text.endswith("\r\n")
    assert text.split("\r\n")[0].startswith("measurement_id,bench,job,")
    assert "\n" not in text.replace("\r\n", "").replace("and\na line", "")
    assert len(rows) == len(view.measurements)
    assert {len(row) for row in rows} == {len(rows[0])}
    assert None not in rows[0]


def test_csv_says_what_the_record_says(view):
    _, rows = rows_of(view)
    for row, m in zip(rows, view.measurements, strict=True):
        assert row["measurement_id"] == m.id
        assert (Decimal(row["value"]), row["unit"]) == (m.value, m.unit)
        assert Decimal(row["u_k2"]) == m.uncertainty
        assert row["status"] == m.status
        assert row["measured_at"] == m.measured_at
        assert row["depth_mm"] == ("" if m.place is None else str(m.place.depth_mm))
    voided = next(row for row in rows if row["status"] == "VOID")
    assert "void: -slipped" in voided["note"]
    assert {row["came"] for row in rows} == {"keyed", "sent", "derived"}


def test_csv_cells_that_a_spreadsheet_would_run_are_defused_and_numbers_are_not(view):
    _, rows = rows_of(view)
    first = rows[0]
    assert first["operator"] == "'=cmd()"
    assert first["gauge"] == "'@home"
    recess = next(row for row in rows if row["characteristic"] == "valve.recess")
    assert recess["value"] == "-0.050"
    assert next(row for row in rows if row["operator"].startswith("Ä"))


async def test_the_description_fits_the_table(client, job, view):
    answer = await client.get(f"/api/v1/jobs/{job}/export/csv")
    beside = f"csv{DESCRIPTION}"
    assert f'<{beside}>; rel="describedby"' in answer.headers["link"]
    served = await client.get(f"/api/v1/jobs/{job}/export/{beside}")
    assert served.headers["content-type"] == "application/csvm+json"
    described = served.json()
    assert described["@context"][0] == "http://www.w3.org/ns/csvw"
    assert described["url"] == "csv"
    columns = described["tableSchema"]["columns"]
    _, rows = rows_of(view)
    assert [column["name"] for column in columns] == list(rows[0])
    assert described["tableSchema"]["primaryKey"] == "measurement_id"
    assert len({row["measurement_id"] for row in rows}) == len(rows)
    for column in columns:
        for row in rows:
            cell = row[column["name"]]
            if cell and column["datatype"] == "decimal":
                assert Decimal(cell).is_finite()
            if cell and column["datatype"] == "integer":
                int(cell)
            if column["datatype"] == "boolean":
                assert cell in {"true", "false"}


async def test_json_is_the_record(client, job, view):
    written = json.loads(b"".join(WRITERS["json"].write(view, ALONE)))
    assert written == (await client.get(f"/api/v1/jobs/{job}/record")).json()


async def test_a_format_that_is_not_there_says_which_are(client, job):
    with pytest.raises(UnknownError, match="there are csv, json"):
        writer_for("docx")
    for name in ("docx", "xls", "json-metadata.json", "-metadata.json"):
        answer = await client.get(f"/api/v1/jobs/{job}/export/{name}")
        assert answer.status_code == 404, name
        assert "there are csv, json" in answer.json()["detail"]


def test_file_names_are_safe(view):
    for number, stem in [("J/7 ä", "J-7"), ("../../etc", "etc"), ("…", view.job.id)]:
        job = view.job.model_copy(update={"number": number})
        assert file_stem(view.model_copy(update={"job": job})) == stem
