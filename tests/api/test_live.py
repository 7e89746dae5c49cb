"""The live socket over a real server: frames, entries after the fsync, slow clients, the door."""

import asyncio
import contextlib
import json
import socket

import pytest
import websockets

from api.live import ENTRIES_QUEUED_MAX, FRAME_S, HEARTBEAT_S, Live
from api.serve import server_for


@pytest.fixture
async def address(service):
    """A real server on a port of its own."""
    with contextlib.closing(socket.socket()) as port:
        port.bind(("127.0.0.1", 0))
        server = server_for(service)
        serving = asyncio.create_task(server.serve(sockets=[port]))
        while not server.started:  # noqa: ASYNC110 - it has no event to wait for
            await asyncio.sleep(0.01)
        host, number = port.getsockname()
        yield f"{host}:{number}"
        server.should_exit = True
        await serving


@contextlib.asynccontextmanager
async def watching(address, path="/api/v1/live", **options):
    async with websockets.connect(f"ws://{address}{path}", **options) as socket_:
        yield socket_


async def next_of(socket_, type_):
    async with asyncio.timeout(60):
        while True:
            message = json.loads(await socket_.recv())
            if message["type"] == type_:
                return message


async def post(address, path, body):
    import httpx

    async with httpx.AsyncClient(base_url=f"http://{address}/api/v1") as client:
        answer = await client.post(path, json=body)
        assert answer.is_success, answer.text
        return answer.json()


@pytest.mark.parametrize("path", ["/api/v1/live", "/live"])
async def test_a_frame_says_what_is_up_and_what_the_gauges_show(address, ports, path):
    async with watching(address, path) as live:
        first = await next_of(live, "progress")
        assert first["bench"]["phase"] == "idle"
        assert first["bench"]["message"] == "Open a job."
        assert first["running"] is True
        assert [gauge["name"] for gauge in first["gauges"]] == ["runout indicator", "micrometer"]
        await _heard(ports["micrometer"], b"+006.971\r\n")
        gauge = (await _frame_with(live, "micrometer"))["gauges"][1]
        assert (gauge["value"], gauge["unit"], gauge["state"]) == ("6.971", "mm", "speaking")


async def _heard(port, data):
    """Send once somebody listens, and again: the first after opening may be a torn line."""
    async with asyncio.timeout(60):
        while not port.write(data):  # noqa: ASYNC110 - the other end opens when it likes
            await asyncio.sleep(0.02)
        await asyncio.sleep(0.05)
        port.write(data)


async def _frame_with(live, gauge):
    """The first frame with a number of that gauge."""
    async with asyncio.timeout(60):
        while True:
            frame = await next_of(live, "progress")
            if any(each["name"] == gauge and each["value"] for each in frame["gauges"]):
                return frame


async def test_the_trace_reaches_the_picture(address, ports):
    async with watching(address) as live:
        await _heard(ports["indicator"], b"+000.000\r\n")
        await _frame_with(live, "runout indicator")
        seen = []
        for number in range(1, 6):
            ports["indicator"].write(b"+000.%03d\r\n" % number)
            await asyncio.sleep(2 * FRAME_S)
        async with asyncio.timeout(60):
            while len(seen) < 5:
                frame = await next_of(live, "progress")
                points = frame["trace"].get("runout indicator", [])
                seen += [value for _, value in points if value > 0]
        assert seen == [0.001, 0.002, 0.003, 0.004, 0.005]


async def test_frames_come_at_their_pace_even_when_nothing_changes(address):
    loop = asyncio.get_running_loop()
    async with watching(address) as live:
        await next_of(live, "progress")
        began_s = loop.time()
        numbers = [(await next_of(live, "progress"))["frame"] for _ in range(4)]
        lasted_s = loop.time() - began_s
    # The page calls the number dead after half a second.
    assert lasted_s < 4 * (HEARTBEAT_S + 2 * FRAME_S) + 0.2
    assert lasted_s > 4 * FRAME_S * 0.9
    assert numbers == sorted(set(numbers))


async def test_every_entry_is_told_after_it_is_written(address, service, stem):
    async with watching(address) as live:
        await next_of(live, "progress")
        job = (await post(address, "/jobs", {"number": "J-1", "plan": "four-by-two"}))["id"]
        kinds = [(await next_of(live, "entry"))["entry"]["kind"] for _ in range(2)]
        assert kinds == ["job.opened", "capture.up"]
        sent = await post(address, f"/jobs/{job}/measurements", stem)
        told = await next_of(live, "entry")
        assert told["measurement"] == sent
        assert told["entry"]["job"] == job
        record = await service.run.read(lambda journal: journal.record(job))
        assert told["entry"]["id"] in {entry.id for entry in record.entries}
        assert told["entry"]["hash"] == record.entries[-1].hash


async def test_an_entry_is_in_the_journal_before_it_is_told(service, client, stem):
    """Asked at the moment of telling, another reader of the file finds it there."""
    from daq.records.records import Records

    found = []

    def tell(entry):
        with Records.open_to_read(service.data) as records:
            found.append(entry.id in {each.id for each in records.record(entry.job).entries})

    stop = service.run.listen(tell)
    job = (await client.post("/api/v1/jobs", json={"number": "J", "plan": "four-by-two"})).json()
    await client.post(f"/api/v1/jobs/{job['id']}/measurements", json=stem)
    stop()
    assert found == [True, True, True]


@pytest.mark.parametrize("origin", ["http://elsewhere.example", "null"])
async def test_a_page_from_elsewhere_may_not_watch(address, origin):
    with pytest.raises(websockets.InvalidStatus) as caught:
        async with watching(address, origin=origin):
            pass
    assert caught.value.response.status_code == 403


async def test_a_foreign_name_may_not_watch(address):
    with pytest.raises(websockets.InvalidStatus) as caught:
        async with watching(address, additional_headers={"Host": "rebound.example"}):
            pass
    assert caught.value.response.status_code == 403


class Stalled:
    """A client whose network takes nothing any more."""

    def __init__(self):
        from starlette.websockets import WebSocketState

        self.application_state = WebSocketState.CONNECTED
        self.closed = None
        self.stalled = asyncio.Event()

    async def accept(self):
        return None

    async def send_text(self, _text):
        self.stalled.set()
        await asyncio.Event().wait()

    async def receive(self):
        await asyncio.Event().wait()

    async def close(self, code, reason):
        self.closed = (code, reason)


async def test_a_client_too_slow_for_entries_is_cut_off_and_told_where_to_catch_up(
    client, service, job
):
    live = Live(service)
    stalled = Stalled()
    serving = asyncio.create_task(live.serve(stalled))
    await asyncio.sleep(0)
    entry = (await service.run.read(lambda journal: journal.record(job))).entries[0]
    async with asyncio.timeout(60):
        await stalled.stalled.wait()
        for _ in range(ENTRIES_QUEUED_MAX):
            live.tell(entry)
        assert not serving.done()
        live.tell(entry)
        await serving
    assert stalled.closed[0] == 1013
    assert "/api/v1/events" in stalled.closed[1]
    live.tell(entry)  # nobody is left to tell
