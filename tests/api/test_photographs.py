"""Photographs over HTTP: added as a body, listed, fetched, and carried by the bundle and sheet."""

import hashlib
import io
from zipfile import ZipFile

import pytest

from daq.head.photograph import BYTES_MOST
from tests.api.export.readers import pdf_pages
from tests.generators.pictures import jpeg, png


def path(job, end=""):
    return f"/api/v1/jobs/{job}/photographs{end}"


async def added(client, job, picture, status=201, headers=None, **said):
    answer = await client.post(path(job), content=picture, params=said, headers=headers)
    assert answer.status_code == status, answer.text
    return answer.json()


async def test_added_listed_and_fetched(client, job):
    first = await added(client, job, jpeg(), note="as it came")
    second = await added(client, job, png(), position="3E", part="valve", person="A. Person")
    listed = (await client.get(path(job))).json()["photographs"]
    assert listed == [first, second]
    record = (await client.get(f"/api/v1/jobs/{job}/record")).json()
    assert record["photographs"] == listed
    assert second["sha256"] == hashlib.sha256(png()).hexdigest()
    for each, picture in ((first, jpeg()), (second, png())):
        answer = await client.get(path(job, f"/{each['id']}"))
        assert answer.content == picture
        assert answer.headers["content-type"] == each["media_type"]
        assert answer.headers["x-content-type-options"] == "nosniff"


async def test_its_own_bytes_say_what_it_is(client, job):
    found = await added(client, job, png(), headers={"content-type": "image/jpeg"})
    assert found["media_type"] == "image/png"
    refused = await added(client, job, b"<svg/>", 422, headers={"content-type": "image/png"})
    assert "JPEG or PNG" in refused["detail"]


@pytest.mark.parametrize(
    ("said", "status", "why"),
    [
        ({"position": "9E"}, 404, "no position '9E'"),
        ({"part": "valve"}, 422, "needs a position"),
        ({"position": "1I", "part": "piston"}, 404, "there are head, valve"),
        ({"note": "a\x00b"}, 422, "control characters"),
    ],
)
async def test_what_it_shows_has_to_be_there(client, job, said, status, why):
    assert why in (await added(client, job, png(), status, **said))["detail"]


async def test_one_that_is_too_large_is_refused_while_it_comes(client, job):
    async def pieces():
        for _ in range(9):
            yield jpeg() + bytes(BYTES_MOST // 8)

    answer = await client.post(path(job), content=pieces())
    assert answer.status_code == 413
    assert "larger than" in answer.json()["detail"]
    assert (await client.get(path(job))).json()["photographs"] == []


async def test_sent_twice_is_kept_once(client, job):
    headers = {"Idempotency-Key": "k-1"}
    first = await added(client, job, png(), headers=headers, position="1I")
    assert await added(client, job, png(), headers=headers, position="1I") == first
    other = await added(client, job, png(), 422, headers=headers, position="2I")
    assert "another request" in other["detail"]
    again = await added(client, job, png(), 409, position="1I")
    assert "already" in again["detail"]


async def test_a_closed_job_takes_no_more(client, job):
    await client.post(
        f"/api/v1/jobs/{job}/sign", json={"person": "A. Person", "reason": "not measured"}
    )
    assert "signed and closed" in (await added(client, job, png(), 409))["detail"]


async def test_what_is_not_there_is_said(client, job, service):
    kept = await added(client, job, png())
    assert (await client.get(path(job, "/nope"))).status_code == 404
    assert (await client.get(path("nope"))).status_code == 404
    (service.data / "photographs" / f"{kept['sha256']}.png").unlink()
    answer = await client.get(path(job, f"/{kept['id']}"))
    assert answer.status_code == 404
    assert "is missing" in answer.json()["detail"]


async def test_the_bundle_carries_them_and_the_sheet_lists_them(client, job, service):
    kept = await added(client, job, png(), position="3E", part="valve", note="burnt at the rim")
    await added(client, job, png(), position="3E", part="seat")
    name = f"{kept['sha256']}.png"
    bundle = (await client.get(f"/api/v1/jobs/{job}/export/bundle")).content
    with ZipFile(io.BytesIO(bundle)) as zipped:
        assert zipped.read(f"photographs/{name}") == png()
        assert len(zipped.namelist()) == len(set(zipped.namelist()))
        assert name in zipped.read("SHA256SUMS").decode()
    sheet = " ".join(pdf_pages((await client.get(f"/api/v1/jobs/{job}/export/pdf")).content))
    assert "burnt at the rim" in sheet
    assert "3E valve" in sheet
    (service.data / "photographs" / name).write_bytes(b"altered")
    answer = await client.get(f"/api/v1/jobs/{job}/export/bundle")
    assert answer.status_code == 503
    assert "another hash" in answer.json()["detail"]
