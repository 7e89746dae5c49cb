"""What Prometheus scrapes can be read, and says what happened."""

from prometheus_client.parser import text_string_to_metric_families

from api.push.pushing import pushing_of
from tests.api.push.conftest import GAPS


class Deaf:
    """A receiver that never takes anything."""

    name = "erp"

    async def send(self, event):
        from api.push.channel import Outcome, Told

        return Told(Outcome.DOWN, "erp takes nothing")

    async def idle(self, cursor):
        return ""

    async def close(self):
        pass


async def scraped(client):
    answer = await client.get("/metrics")
    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith("text/plain; version=0.0.4")
    return {
        (sample.name, *sample.labels.values()): sample.value
        for family in text_string_to_metric_families(answer.text)
        for sample in family.samples
    }


async def test_what_was_kept_and_how_the_gauges_stand(client, job, stem):
    before = await scraped(client)
    await client.post(f"/api/v1/jobs/{job}/measurements", json=stem)
    after = await scraped(client)
    kept = ("benchtally_entries_total", "measurement.kept")
    assert after[kept] - before.get(kept, 0) == 1
    assert after["benchtally_captures_total", "NOT_ANALYZED"] == 1
    assert sum(v for k, v in after.items() if k[0] == "benchtally_gauges") == 2
    assert after["benchtally_readings_total", "micrometer"] == 0
    assert after[("benchtally_running",)] == 1


async def test_what_is_still_to_be_told_and_why_it_is_not(service, stem):
    import httpx

    from api.app import create_app
    from daq.records.outbox import Outbox

    outbox = Outbox.open_to_read(service.data)
    service.push = pushing_of([(Deaf(), GAPS)], outbox, service.name)
    app = create_app(service)
    transport = httpx.ASGITransport(app)
    async with (
        app.router.lifespan_context(app),
        httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1:8620") as client,
    ):
        opened = await client.post("/api/v1/jobs", json={"number": "J-1", "plan": "four-by-two"})
        assert opened.status_code == 201
        depth = (await scraped(client))["benchtally_outbox_depth", "erp"]
        assert depth >= 1
        health = (await client.get("/api/v1/health")).json()
        assert health["journal"] == "writable"
        assert (await scraped(client))[("benchtally_running",)] == 1
