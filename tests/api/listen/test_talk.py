"""Setting a gauge up over HTTP: the guided way, with whoever sits at the page for the terminal."""

import asyncio

import pytest

from api.listen import talk as talking
from api.listen.command import DONE, UNPLACED
from api.listen.talk import Talk


def led(port, person, config, out):
    """Asks two things and says what it was told, as the guided way does."""
    person.say(f"Listening to {port}.")
    name = person.ask("What is this gauge called", "gauge")
    serial = person.ask("Its serial number", "")
    person.say(f"[[gauge]] {name} {serial}".rstrip())
    return DONE if config is None and out is None else UNPLACED


@pytest.fixture(autouse=True)
def _led(monkeypatch):
    monkeypatch.setattr(Talk.__init__, "__defaults__", (led,))


async def until(client, wanted):
    """Look until the answer is as wanted; the test's own time limit ends it else."""
    while True:
        found = (await client.get("/api/v1/ports/listen")).json()
        if wanted(found):
            return found
        await asyncio.sleep(0.01)


async def test_a_gauge_is_set_up_by_answers(client):
    began = await client.post("/api/v1/ports/listen", json={"port": "/dev/invented"})
    assert began.status_code == 202
    found = await until(client, lambda each: each["question"] == "What is this gauge called")
    assert (found["proposed"], found["lines"]) == ("gauge", ["Listening to /dev/invented."])
    second = await client.post("/api/v1/ports/listen", json={"port": "/dev/other"})
    assert (second.status_code, "/dev/invented" in second.json()["detail"]) == (409, True)
    await client.post("/api/v1/ports/listen/answer", json={"text": "bore gauge"})
    await until(client, lambda each: each["question"] == "Its serial number")
    await client.post("/api/v1/ports/listen/answer", json={"text": ""})
    found = await until(client, lambda each: each["over"])
    assert (found["placed"], found["lines"][-1]) == (True, "[[gauge]] bore gauge")
    late = await client.post("/api/v1/ports/listen/answer", json={"text": "more"})
    assert late.status_code == 409


async def test_it_ends_when_it_is_stopped_and_when_nobody_answers(client, monkeypatch):
    assert (await client.get("/api/v1/ports/listen")).json()["port"] == ""
    nobody = await client.post("/api/v1/ports/listen/answer", json={"text": ""})
    assert nobody.status_code == 404
    await client.post("/api/v1/ports/listen", json={"port": "/dev/invented"})
    await until(client, lambda each: each["question"])
    await client.post("/api/v1/ports/listen/stop", json={})
    found = await until(client, lambda each: each["over"])
    assert (found["placed"], found["lines"][-1]) == (False, "Stopped; nothing was set up.")
    monkeypatch.setattr(talking, "ANSWER_S", 0.0)
    await client.post("/api/v1/ports/listen", json={"port": "/dev/invented"})
    assert not (await until(client, lambda each: each["over"]))["placed"]


@pytest.mark.parametrize("port", ["socket://192.0.2.1:80", "../secret", "loop://", "usb:1:2"])
async def test_only_a_serial_port_of_this_computer_is_listened_to(client, port):
    answer = await client.post("/api/v1/ports/listen", json={"port": port})
    assert (answer.status_code, "no serial port" in answer.json()["detail"]) == (422, True)


async def test_the_port_of_a_gauge_of_the_bench_is_left_alone(client, ports):
    device = ports["micrometer"].path.resolve()
    answer = await client.post("/api/v1/ports/listen", json={"port": str(device)})
    assert (answer.status_code, "the gauge micrometer" in answer.json()["detail"]) == (409, True)
    assert isinstance((await client.get("/api/v1/ports")).json()["ports"], list)
