"""Whatever stands in whichever field: an answer, never a fault of ours, a record still whole."""

import json

import pytest

from daq.records.errors import DiskFullError, RecordError

NASTY = [
    None, True, 0, -1, 10**18, 10**30, 1.5, float("nan"), float("inf"), "", " ", "x", "NaN", "1e9",
    "0" * 200, "9" * 1000, "\x00", "\u202e", "a\r\nb", "é" * 3, "1I", "../../etc/passwd",
    "'; DROP TABLE jobs; --", "=1+1", [], [1], {}, {"depth_mm": "1", "direction": "along"},
    {"depth_mm": -1, "direction": "along"}, {"depth_mm": "1e400", "direction": 5}, "2026-11-25",
    "2026-11-25T25:00:00Z",
]  # fmt: skip
PLACE = {"depth_mm": "12", "direction": "along"}
BODIES = {
    "jobs": {"number": "N", "plan": "four-by-two", "customer": "c", "person": "p"},
    "plans": {
        "name": "p",
        "title": "t",
        "source": "s",
        "head": {"cylinders": 1},
        "steps": [{"characteristic": "valve.look"}],
    },
    "jobs/JOB/measurements": {
        "characteristic": "valve.stem_diameter",
        "position": "1I",
        "place": PLACE,
        "value": "6.97",
        "unit": "mm",
        "came": "keyed",
        "gauge": "g",
        "person": "p",
        "measured_at": "2026-11-25T09:00:00Z",
        "note": "n",
    },
    "jobs/JOB/up": {"characteristic": "valve.stem_diameter", "position": "1I", "place": PLACE},
    "jobs/JOB/again": {"person": "p"},
    "jobs/JOB/skip": {"reason": "r", "person": "p"},
    "jobs/JOB/answer": {"passed": True, "note": "n"},
    "jobs/JOB/rework": {"position": "1I", "part": "valve", "what": "w"},
    "jobs/JOB/temperature": {"part_c": "20", "gauge_c": "20"},
    "jobs/JOB/zero": {"gauge": "micrometer", "ring": "ring 7", "shown_mm": "7.0"},
    "jobs/JOB/measurements/MID/void": {"reason": "r"},
    "jobs/JOB/sign": {"person": "p"},
}


def assert_answered(answer, what):
    assert answer.status_code < 500, (what, answer.text)
    if answer.status_code >= 400:
        assert answer.headers["content-type"] == "application/problem+json", what
        assert answer.json()["detail"], what
        assert len(answer.content) < 5000, what


@pytest.mark.parametrize("path", BODIES)
async def test_any_field_may_hold_anything(client, job, stem, path):
    kept = await client.post(f"/api/v1/jobs/{job}/measurements", json=stem)
    url = "/api/v1/" + path.replace("JOB", job).replace("MID", kept.json()["id"])
    for key in BODIES[path]:
        for value in NASTY:
            body = json.dumps({**BODIES[path], key: value}).encode()
            answer = await client.post(
                url, content=body, headers={"content-type": "application/json"}
            )
            assert_answered(answer, (path, key, value))
    record = await client.get(f"/api/v1/jobs/{job}/record")
    assert record.status_code == 200
    for name in ("csv", "json"):
        assert (await client.get(f"/api/v1/jobs/{job}/export/{name}")).status_code == 200
    assert (await client.get("/api/v1/events", params={"limit": 1000})).status_code == 200


@pytest.mark.parametrize(
    "path",
    ["jobs/{}", "jobs/{}/record", "jobs/{}/export/csv", "jobs/x/export/{}", "jobs?number={}"],
)
@pytest.mark.parametrize(
    "part", ["%00", "%ff", "%f0%9f%94%a7", "..%2f..%2fetc%2fpasswd", "a" * 3000, "%F0", "'--"]
)
async def test_any_path_is_answered(client, job, path, part):
    assert_answered(await client.get("/api/v1/" + path.format(part)), (path, part))


async def test_any_idempotency_key_is_answered(client, job, stem):
    for key in (b"", b" ", b"x" * 300, b"\xff\xfe", b"a,b"):
        answer = await client.post(
            f"/api/v1/jobs/{job}/measurements", json=stem, headers={b"idempotency-key": key}
        )
        assert_answered(answer, key)


@pytest.mark.parametrize(
    ("error", "status"),
    [(DiskFullError("The disk of x is full: make room."), 507), (RecordError("Gone: x."), 503)],
)
async def test_what_cannot_be_written_is_said_and_not_answered_as_done(
    client, service, job, stem, monkeypatch, error, status
):
    def append(*_):
        raise error

    path, key = f"/api/v1/jobs/{job}/measurements", {"idempotency-key": "k"}
    with monkeypatch.context() as broken:
        journal = await service.run.read(lambda journal: journal)
        broken.setattr(journal, "append", append)
        answer = await client.post(path, json=stem, headers=key)
        assert answer.status_code == status
        assert answer.json()["detail"] == str(error)
    record = (await client.get(f"/api/v1/jobs/{job}/record")).json()
    assert record["measurements"] == []
    # The same request again is done, now that there is room.
    assert (await client.post(path, json=stem, headers=key)).status_code == 201
