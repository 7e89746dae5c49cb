"""A bench whose gauges behave as real ones do, each on a pseudo port of its own, from HTTP."""

import asyncio

import pytest

from drivers.pretend.port import PretendPort
from tests.api.conftest import CONFIG, STEM

MORE = """
[[gauge]]
name = "button micrometer"
serial = "G-8"
port = "{folder}/button"
profile = "plain-line"
resolution_mm = 0.001
error_limit_mm = 0.001
speaks = "button"
reverse = true
measures = ["valve.stem_diameter"]

[[gauge]]
name = "box A"
serial = "G-9"
port = "{folder}/box"
profile = "comma-line"
channel = "A"
resolution_mm = 0.001
measures = ["spring.squareness"]
"""


@pytest.fixture
def ports(tmp_path):
    names = ("indicator", "micrometer", "button", "box")
    found = {name: PretendPort(tmp_path / name) for name in names}
    yield found
    for port in found.values():
        port.unplug()


@pytest.fixture
def bench_toml(tmp_path, ports):
    file = tmp_path / "bench.toml"
    file.write_text((CONFIG + MORE).format(folder=tmp_path))
    return file


async def shown(client, name):
    answer = await client.get("/api/v1/gauges")
    return next(each for each in answer.json()["gauges"] if each["name"] == name)


async def until(found):
    """What `found` gives as soon as it gives something."""
    for _ in range(6000):
        if what := await found():
            return what
        await asyncio.sleep(0.01)
    pytest.fail("it never came")


async def opened(client, name):
    async def now():
        each = await shown(client, name)
        return each if each["state"] != "gone" else None

    return await until(now)


async def say(client, port, name, line):
    """Send a line until a reading more is there: the first after opening may count as torn."""
    before = (await shown(client, name))["readings"]

    async def came():
        each = await shown(client, name)
        if each["readings"] > before:
            return each
        port.write(line)
        await asyncio.sleep(0.05)
        return None

    return await until(came)


async def test_what_a_gauge_says_in_place_of_a_number_is_shown_and_is_no_number(client, ports):
    assert (await say(client, ports["box"], "box A", b"A +1,234 mm\r"))["value"] == "1.234"
    for word, meaning in ((b"OVER", "over-range"), (b"LOBAT", "low-battery"), (b"ERR", "error")):
        each = await say(client, ports["box"], "box A", b"A " + word + b"\r")
        assert (each["value"], each["said"]) == (None, meaning)
    each = await say(client, ports["box"], "box A", b"A -0,050 in\r")
    assert (each["value"], each["said"], each["unit"]) == ("-1.270", "ok", "mm")
    assert "switched from mm to in" in each["note"]


async def test_one_that_stops_in_the_middle_is_silent_and_one_with_a_button_waits(client, ports):
    await say(client, ports["micrometer"], "micrometer", b"+006.971\r\n")
    await opened(client, "button micrometer")

    async def silent():
        each = await shown(client, "micrometer")
        return each if each["state"] == "silent" else None

    each = await until(silent)
    assert "has said nothing for" in each["trouble"]
    button = await shown(client, "button micrometer")
    assert (button["state"], button["trouble"], button["value"]) == ("waiting", "", None)


async def test_plugged_out_and_in_while_it_runs(client, ports):
    await say(client, ports["micrometer"], "micrometer", b"+006.971\r\n")
    ports["micrometer"].unplug()

    async def gone():
        return (await shown(client, "micrometer"))["state"] == "gone"

    await until(gone)
    ports["micrometer"].plug()
    each = await say(client, ports["micrometer"], "micrometer", b"+006.972\r\n")
    assert (each["state"], each["value"], each["reconnects"]) == ("speaking", "6.972", 1)


async def record_of(client, job):
    return (await client.get(f"/api/v1/jobs/{job}/record")).json()


async def up(client, job, characteristic, **place):
    asked = {"characteristic": characteristic, "position": "1I", **place}
    answer = await client.post(f"/api/v1/jobs/{job}/up", json=asked)
    assert answer.is_success, answer.text


async def measured(client, job, characteristic):
    async def found():
        measurements = (await record_of(client, job))["measurements"]
        return [m for m in measurements if m["characteristic"] == characteristic]

    return await until(found)


async def test_the_gauges_button_is_a_commit_and_its_sign_is_turned(client, ports, job):
    await opened(client, "button micrometer")
    await up(client, job, "valve.stem_diameter", place=STEM["place"])
    await say(client, ports["button"], "button micrometer", b"-006.971\r\n")
    (value,) = await measured(client, job, "valve.stem_diameter")
    assert (float(value["value"]), value["gauge_serial"]) == (6.971, "G-8")
    assert (value["came"], value["detail"]["by"]) == ("captured", "button")
