"""The feed that never loses anything: CloudEvents behind a cursor."""

import pytest

from api.events import source_of


async def all_events(client, after="0", limit=100):
    found = []
    while True:
        answer = (
            await client.get("/api/v1/events", params={"after": after, "limit": limit})
        ).json()
        found += answer["events"]
        if not answer["events"]:
            assert answer["next"] == after
            return found
        after = answer["next"]


async def test_everything_written_is_told_in_order(client, job, stem):
    m = (await client.post(f"/api/v1/jobs/{job}/measurements", json=stem)).json()
    void = f"/api/v1/jobs/{job}/measurements/{m['id']}/void"
    await client.post(void, json={"reason": "slipped"})
    await client.post(f"/api/v1/jobs/{job}/sign", json={"person": "A. Person"})
    events = await all_events(client)
    assert [event["type"] for event in events] == [
        "alt.benchtally.job.opened.v1",
        "alt.benchtally.capture.up.v1",
        "alt.benchtally.measurement.kept.v1",
        "alt.benchtally.measurement.voided.v1",
        "alt.benchtally.job.closed.v1",
    ]
    assert await all_events(client, limit=1) == events
    assert [int(event["cursor"]) for event in events] == sorted(int(e["cursor"]) for e in events)


async def test_a_voided_value_is_told_once_more_as_it_stands(client, job, stem):
    kept = (await client.post(f"/api/v1/jobs/{job}/measurements", json=stem)).json()
    void = f"/api/v1/jobs/{job}/measurements/{kept['id']}/void"
    await client.post(void, json={"reason": "slipped", "person": "A. Person"})
    first, voided = (await all_events(client))[-2:]
    assert voided["subject"] == first["subject"] == f"job/{job}/1I/valve.stem_diameter"
    assert voided["id"] != first["id"]
    assert voided["data"] == {
        **first["data"],
        "measurement_id": first["id"],
        "status": "VOID",
        "note": "slipped",
        "voided_by": "A. Person",
    }


async def test_every_event_carries_the_names_of_its_job(client):
    asked = {"number": "J-2", "plan": "four-by-two", "head_serial": "H-0815"}
    job = (await client.post("/api/v1/jobs", json=asked)).json()["id"]
    named = {"job": job, "number": "J-2", "part_serial": "H-0815", "spec_version": "four-by-two"}
    events = await all_events(client)
    assert len(events) == 2
    for event in events:
        assert {key: event["data"][key] for key in named} == named


async def test_a_kept_measurement_says_all_of_itself(client, job, stem):
    sent = {
        **stem,
        "gauge": "micrometer",
        "person": "A. Person",
        "note": "n",
        "measured_at": "2026-11-25T08:00:00Z",
    }
    m = (await client.post(f"/api/v1/jobs/{job}/measurements", json=sent)).json()
    event = (await all_events(client))[-1]
    # CloudEvents 1.0, chapter "Required attributes": id, source, specversion, type.
    assert event["specversion"] == "1.0"
    assert event["id"] == m["id"]
    assert event["source"] == "urn:x-bench:bench-1"
    assert event["subject"] == f"job/{job}/1I/valve.stem_diameter"
    assert event["time"] == "2026-11-25T08:00:00.000Z"
    assert event["datacontenttype"] == "application/json"
    # Attribute names: lower-case letters and digits only (CloudEvents 1.0, naming conventions).
    assert all(name.isalnum() and name == name.lower() for name in event)
    data = event["data"]
    assert (data["value"], data["unit"], data["status"]) == ("6.9710", "mm", "NOT_ANALYZED")
    assert data["place"] == {"depth": "12", "direction": "along", "length": None, "spot": None}
    assert data["trace"] is None
    assert data["uncertainty"] == {"value": m["uncertainty"], "k": "2.0"}
    assert data["gauge"]["serial"] == "G-1042"
    assert (data["operator"], data["note"]) == ("A. Person", "n")


@pytest.mark.parametrize(
    ("name", "source"),
    [
        ("Bench 1", "urn:x-bench:bench-1"),
        ("Prüfstand/2", "urn:x-bench:pr-fstand-2"),
        ("…", "urn:x-bench:bench"),
    ],
)
def test_the_source_is_a_uri(name, source):
    assert source_of(name) == source


async def test_health_tells_the_truth(client, service, ports):
    health = (await client.get("/api/v1/health")).json()
    assert health["running"] is True
    assert health["journal"] == "writable"
    service.run.trouble = "The disk of x is full: nothing of this was kept."
    answer = await client.get("/api/v1/health")
    assert answer.status_code == 503
    assert answer.json()["status"] == "trouble"
    assert "full" in answer.json()["journal"]
    service.run.trouble = ""
    service.loop.cancel()
    import asyncio

    await asyncio.gather(service.loop, return_exceptions=True)
    answer = await client.get("/api/v1/health")
    assert answer.status_code == 503
    assert answer.json()["running"] is False
    assert any("stopped" in each for each in answer.json()["troubles"])
