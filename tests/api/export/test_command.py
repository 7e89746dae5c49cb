"""The command and the routes: every format, the wishes, and what cannot be done in sentences."""

import json
import os

import pypdfium2
import pytest
from typer.testing import CliRunner

from api.cli import app
from api.export import WRITERS
from tests.api.export.readers import pdf_pages


def run(*args):
    return CliRunner().invoke(app, [str(arg) for arg in args])


@pytest.fixture
async def store(client, job, stem, service):
    """The data folder of a bench with one value kept."""
    answer = await client.post(f"/api/v1/jobs/{job}/measurements", json=stem)
    assert answer.status_code == 201, answer.text
    return service.data


@pytest.mark.parametrize("name", WRITERS)
async def test_the_command_and_the_route_write_the_same(client, job, store, tmp_path, name):
    out = tmp_path / f"record{WRITERS[name].suffix}"
    result = run("export", "J-1", "--as", name, "--out", out, "--data", store)
    assert result.exit_code == 0, result.stderr
    served = await client.get(f"/api/v1/jobs/{job}/export/{name}")
    assert served.status_code == 200
    if name != "labels":  # their codes lead to the address that was asked
        assert out.read_bytes() == served.content
    assert not list(tmp_path.glob(".*.part"))


async def test_what_was_exported_as_json_is_verified(store, tmp_path):
    out = tmp_path / "record.json"
    assert run("export", "J-1", "--as", "json", "--out", out, "--data", store).exit_code == 0
    assert run("verify", out).exit_code == 0
    altered = json.loads(out.read_text())
    altered["measurements"][0]["value"] = "6.9711"
    out.write_text(json.dumps(altered))
    assert run("verify", out).exit_code == 1


async def test_paper_and_unit_are_wishes(client, job, store, tmp_path):
    out = tmp_path / "sheet.pdf"
    wishes = ("--paper", "us-letter", "--length", "in")
    result = run("export", "J-1", "--as", "pdf", "--out", out, "--data", store, *wishes)
    assert result.exit_code == 0, result.stderr
    served = await client.get(
        f"/api/v1/jobs/{job}/export/pdf", params={"paper": "us-letter", "length": "in"}
    )
    assert served.content == out.read_bytes()
    assert pypdfium2.PdfDocument(out)[0].get_width() == pytest.approx(612, abs=0.1)
    assert "Lengths in inches" in " ".join(pdf_pages(out.read_bytes()))
    refused = await client.get(f"/api/v1/jobs/{job}/export/pdf", params={"paper": "a0"})
    assert refused.status_code == 422


async def test_qif_is_checked_by_the_schema_that_is_named(store, tmp_path, qif_schema):
    out = tmp_path / "record.qif"
    schema = os.environ["QIF_SCHEMA_DIR"]
    asked = ("export", "J-1", "--as", "qif", "--out", out, "--data", store, "--schema")
    assert run(*asked, schema).exit_code == 0
    assert not qif_schema(out.read_bytes())


async def test_a_schema_that_is_not_there_is_a_sentence(store, tmp_path):
    result = run("export", "J-1", "--as", "qif", "--data", store, "--schema", tmp_path)
    assert result.exit_code == 1
    assert "There is no QIF schema" in result.stderr


async def test_the_schema_of_the_json_is_served(client, job, store):
    from jsonschema import Draft202012Validator

    schema = (await client.get("/api/v1/schemas/record.json")).json()
    document = (await client.get(f"/api/v1/jobs/{job}/export/json")).json()
    Draft202012Validator(schema).validate(document)


async def test_a_large_export_comes_in_pieces(client, job, store, monkeypatch):
    monkeypatch.setattr("api.export.sheet.CHUNK_BYTES", 4096)
    async with client.stream("GET", f"/api/v1/jobs/{job}/export/pdf") as answer:
        assert "content-length" not in answer.headers
        assert sum([len(chunk) async for chunk in answer.aiter_raw()]) > 4096
