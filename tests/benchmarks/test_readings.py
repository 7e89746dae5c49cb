"""Readings a processor-second, against pyserial's own `readline()` and `float` on the same port.

Run by hand: `python -m pytest tests/benchmarks/test_readings.py -n 0 -s`. Another process writes
lines into a pseudo serial port as fast as they are taken; both ways read from it in turns, in one
run, and only their ratio is compared.
"""

import asyncio
import statistics
import time
import tomllib
from pathlib import Path

import pytest
import serial
from pymodbus.client import AsyncModbusSerialClient
from pymodbus.server import ModbusSerialServer

from drivers.gauge import Gauge, GaugeSpec
from drivers.profile import load_profile, parse_profile, shipped_profiles
from drivers.wires.registry import WIRES
from tests.benchmarks.flooding import flooded_port
from tests.drivers.modbus_box import RTU, Box, joined_ports

ROUNDS = 5
BASELINE_LINES, READINGS = 10_000, 400_000
RATIO_LEAST = 20
ROUND_TRIPS = 500
RECORDINGS = Path(__file__).parents[2] / "fixtures/drivers/recordings"


@pytest.fixture
def port():
    lines = (b"%+08.3f\r\n" % (0.001 * (n * 7 % 2000 - 1000)) for n in range(400))
    with flooded_port(b"".join(lines)) as path:
        yield path


def read_lines(path: str) -> float:
    """Processor seconds a reading of the plain way."""
    with serial.Serial(path, 9600, timeout=5) as opened:
        opened.readline()
        began_s = time.process_time()
        for _ in range(BASELINE_LINES):
            float(opened.readline())
        return (time.process_time() - began_s) / BASELINE_LINES


async def hear(path: str) -> float:
    """Processor seconds a reading of ours, port to finished reading."""
    gauge = Gauge(GaugeSpec("dial", path, load_profile("plain-line")), time.monotonic)
    count, began_s = 0, 0.0
    batches = gauge.batches()
    async for batch in batches:
        if not began_s:
            began_s = time.process_time()
            continue
        count += len(batch)
        if count >= READINGS:
            break
    took_s = time.process_time() - began_s
    await batches.aclose()
    assert gauge.wire.rejected_messages == 0
    return took_s / count


@pytest.mark.timeout(900)  # the port is written into as fast as a busy machine can
def test_readings_a_processor_second(port):
    plain, ours = [], []
    for _ in range(ROUNDS):
        plain.append(read_lines(port))
        ours.append(asyncio.run(hear(port)))
    ratio = statistics.median(plain) / statistics.median(ours)
    print(
        f"\nreadline and float: {1 / statistics.median(plain):,.0f} readings a processor-second; "
        f"gauge: {1 / statistics.median(ours):,.0f}; {ratio:.0f} times as many"
    )
    assert ratio >= RATIO_LEAST


# The recorded answer of modbus-tcp bears the running number of one request only.
@pytest.mark.parametrize("name", sorted({*shipped_profiles()} - {"modbus-tcp"}))
def test_how_fast_each_profile_is_read(name):
    """The wire alone; printed, not compared, since there is nothing to compare it with."""
    profile = load_profile(name)
    recording = tomllib.loads((RECORDINGS / f"{name}.toml").read_text("utf-8"))
    data = bytes.fromhex(recording.get("hex", "")) or recording["bytes"].encode("latin-1")
    wire = WIRES[profile.wire].described(profile.model_dump())
    count, began_s = 0, time.process_time()
    while time.process_time() - began_s < 0.3:
        wire.ask()
        count += sum(len(run.numbers) for run in wire.feed(data))
    took_s = time.process_time() - began_s
    print(f"\n{name}: {count / took_s:,.0f} readings a processor-second")
    assert count


async def test_modbus_through_pymodbus_own_server():
    """Round trips a second over a joined pair of pseudo ports, beside pymodbus' own client."""
    box = Box()
    async with joined_ports() as (theirs, ours):
        server = ModbusSerialServer(box.device(7), port=theirs)
        await server.serve_forever(background=True)
        client = AsyncModbusSerialClient(ours)
        await client.connect()
        began_s = time.monotonic()
        for _ in range(ROUND_TRIPS):
            answer = await client.read_holding_registers(10, count=6, device_id=7)
            assert answer.registers[0] == 12345
        plain_s = (time.monotonic() - began_s) / ROUND_TRIPS
        client.close()
        await asyncio.sleep(0.1)  # it closes its port a little later

        profile = parse_profile(RTU.replace("0.01", "0.0001"), "rtu", "rtu.toml")
        gauge = Gauge(GaugeSpec("probe", ours, profile, channel="A"), time.monotonic)
        batches = gauge.batches()
        await anext(batches)
        began_s = time.monotonic()
        for _ in range(ROUND_TRIPS):
            (reading,) = await anext(batches)
            assert reading.value == 1.2345
        ours_s = (time.monotonic() - began_s) / ROUND_TRIPS
        await batches.aclose()
        await server.shutdown()
    print(
        f"\npymodbus client: {1 / plain_s:,.0f} round trips a second; gauge: {1 / ours_s:,.0f}; "
        f"{plain_s / ours_s:.1f} times as many; {gauge.voice.asking.unanswered} unanswered in time"
    )
    # What nobody asked for is only what came too late.
    assert gauge.voice.asking.unasked <= profile.answers * gauge.voice.asking.unanswered
