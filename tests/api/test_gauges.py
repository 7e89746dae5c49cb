"""What is asked of one gauge: take what it typed, give a reading now, say that its unit changed."""

import asyncio
import threading

import pytest

from tests.api.conftest import CONFIG

MORE = """
[[gauge]]
name = "caliper"
serial = "G-7"
port = "keys:"
profile = "typed-number"
resolution_mm = 0.01
measures = ["spring.free_length"]

[[gauge]]
name = "depth gauge"
serial = ""
port = "{folder}/depth"
profile = "demanded.toml"
resolution_mm = 0.001
measures = ["valve.recess"]
"""
DEMANDED = """\
about = "Invented: answers a question, and only when somebody wants to know."
wire = "ask"
unit = "mm"
[line]
unit_words = { mm = "mm" }
[ask]
request = "?\\r"
on_demand = true
timeout_s = 0.2
"""


@pytest.fixture
def bench_toml(tmp_path, ports):
    file = tmp_path / "bench.toml"
    file.write_text((CONFIG + MORE).format(folder=tmp_path))
    (tmp_path / "demanded.toml").write_text(DEMANDED)
    return file


@pytest.fixture
def answering(tmp_path):
    """A gauge that answers each question with 1.234, from before the bench starts."""
    from drivers.pretend.port import PretendPort

    port, stop, asked = PretendPort(tmp_path / "depth"), threading.Event(), []

    def answer():
        while not stop.wait(0.005):
            if said := port.read():
                asked.append(said)
                port.write(b"1.234\r\n")

    thread = threading.Thread(target=answer)
    thread.start()
    yield asked
    stop.set()
    thread.join()
    port.unplug()


async def shown(client, name):
    answer = await client.get("/api/v1/gauges")
    return next(each for each in answer.json()["gauges"] if each["name"] == name)


async def until(condition):
    for _ in range(6000):
        if await condition():
            return
        await asyncio.sleep(0.01)
    pytest.fail("it never came")


async def test_what_was_typed_is_a_reading_of_that_gauge(client):
    async def listens():
        return (await shown(client, "caliper"))["state"] == "waiting"

    await until(listens)
    for at in ("G-7", "caliper"):
        answer = await client.post(f"/api/v1/gauges/{at}/typed", json={"text": "12,34\n"})
        assert answer.status_code == 200, answer.text
        assert (answer.json()["name"], answer.json()["value"]) == ("caliper", "12.34")
    assert (await shown(client, "caliper"))["readings"] == 2
    # What is no number is said, and nothing is taken from it.
    answer = await client.post("/api/v1/gauges/G-7/typed", json={"text": "12x34\n"})
    assert answer.status_code == 422
    assert "12x34" in answer.json()["detail"]
    assert (await shown(client, "caliper"))["readings"] == 2


async def test_who_does_not_type_says_so(client, service, monkeypatch):
    answer = await client.post("/api/v1/gauges/G-1042/typed", json={"text": "1.5\n"})
    assert answer.status_code == 422
    assert "micrometer does not type" in answer.json()["detail"]
    assert 'port = "keys:"' in answer.json()["detail"]
    answer = await client.post("/api/v1/gauges/G-0/typed", json={"text": "1.5\n"})
    assert answer.status_code == 404
    assert "'G-0'" in answer.json()["detail"]
    for text in ("", "1\x00", "1" * 257):
        answer = await client.post("/api/v1/gauges/G-7/typed", json={"text": text})
        assert answer.status_code == 422
    caliper = next(each for each in service.run.gauges if each.spec.name == "caliper")
    monkeypatch.setattr(caliper.link, "type", lambda text: False)
    answer = await client.post("/api/v1/gauges/G-7/typed", json={"text": "1.5\n"})
    assert answer.status_code == 409
    assert "nobody took what caliper typed" in answer.json()["detail"]


async def test_a_gauge_is_asked_on_demand(answering, client):
    async def open_now():
        return (await shown(client, "depth gauge"))["state"] == "waiting"

    await until(open_now)
    assert (await shown(client, "depth gauge"))["readings"] == 0
    answer = await client.post("/api/v1/gauges/depth gauge/ask")
    assert answer.status_code == 200, answer.text
    assert (answer.json()["value"], answer.json()["readings"]) == ("1.234", 1)
    assert b"".join(answering) == b"?\r"


async def test_who_cannot_be_asked_says_so(client):
    answer = await client.post("/api/v1/gauges/G-1042/ask")
    assert answer.status_code == 422
    assert "micrometer is not asked" in answer.json()["detail"]

    async def missed():
        return "Plug the gauge in" in (await shown(client, "depth gauge"))["trouble"]

    await until(missed)
    answer = await client.post("/api/v1/gauges/depth gauge/ask")
    assert answer.status_code == 409
    assert "depth gauge cannot be asked" in answer.json()["detail"]
    assert "Plug the gauge in" in answer.json()["detail"]


async def test_who_does_not_answer_is_told_of(tmp_path, client):
    from drivers.pretend.port import PretendPort

    deaf = PretendPort(tmp_path / "depth")

    async def open_now():
        return (await shown(client, "depth gauge"))["state"] == "waiting"

    await until(open_now)
    answer = await client.post("/api/v1/gauges/depth gauge/ask")
    deaf.unplug()
    assert answer.status_code == 504
    assert "did not answer" in answer.json()["detail"]


async def test_a_gauge_that_was_switched_to_another_unit_is_noted(client, ports):
    async def heard(value):
        ports["micrometer"].write(value)
        found = await shown(client, "micrometer")
        return bool(found["note"]) if b"in" in value else found["readings"] > 0

    await until(lambda: heard(b"+0006.971 mm\r\n"))
    assert (await shown(client, "micrometer"))["note"] == ""
    await until(lambda: heard(b"+0.27445 in\r\n"))
    found = await shown(client, "micrometer")
    assert "was switched from mm to in" in found["note"]
    assert found["trouble"] == ""
    assert found["value"] == "6.971"
