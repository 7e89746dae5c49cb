"""Modbus from pymodbus' own server: RTU over a pair of pseudo ports, TCP over a socket."""

import asyncio
import os
import time
import tty
from collections.abc import AsyncGenerator
from contextlib import suppress
from pathlib import Path

import pytest
from pymodbus.constants import ExcCodes
from pymodbus.server import ModbusSerialServer, ModbusTcpServer
from pymodbus.simulator import DataType, SimData, SimDevice

from drivers.gauge import Gauge, GaugeSpec
from drivers.profile import parse_profile
from drivers.reading import State, Unit


@pytest.fixture
async def pair(tmp_path: Path) -> AsyncGenerator[tuple[str, str], None]:
    """Two pseudo ports joined by a wire: what goes into one comes out of the other."""
    loop = asyncio.get_running_loop()
    ours, theirs = zip(os.openpty(), os.openpty(), strict=True)
    for end in (*ours, *theirs):
        tty.setraw(end)

    def carry(source: int, target: int) -> None:
        with suppress(OSError):
            os.write(target, os.read(source, 4096))

    for source, target in (ours, ours[::-1]):
        loop.add_reader(source, carry, source, target)
    yield os.ttyname(theirs[0]), os.ttyname(theirs[1])
    for end in ours:
        loop.remove_reader(end)
    for end in (*ours, *theirs):
        os.close(end)


RTU = """
about = "invented"
wire = "modbus"
unit = "mm"
[modbus]
device = 7
channels = { A = 10, B = 12 }
type = "int32"
order = "CDAB"
scale = "0.0001"
codes = { 7FFFFFFF = "over-range" }
period_s = 0.01
timeout_s = 0.2
[modbus.unit]
address = 14
words = { 0 = "mm", 1 = "in" }
[modbus.state]
address = 15
mask = 0x0F
words = { 0 = "ok", 4 = "low-battery" }
"""


def words(value: int) -> list[int]:
    """A 32-bit number as two registers, the low one first."""
    return [value & 0xFFFF, value >> 16 & 0xFFFF]


class Box:
    """What stands in the registers, served by pymodbus."""

    def __init__(self) -> None:
        self.values = [12345, -5]
        self.unit = 0
        self.state = 0x10
        self.refuses = False

    def device(self, number: int) -> SimDevice:
        registers = SimData(10, values=[0] * 6, datatype=DataType.REGISTERS)
        return SimDevice(number, [registers], action=self.read)

    async def read(self, code, start, address, count, registers, written):
        if self.refuses:
            return ExcCodes.DEVICE_BUSY
        now = [*words(self.values[0]), *words(self.values[1]), self.unit, self.state]
        registers[10 - start : 16 - start] = now
        return None


async def test_rtu_over_a_pair_of_pseudo_ports(pair, listen, until):
    box = Box()
    server = ModbusSerialServer(box.device(7), port=pair[0])
    await server.serve_forever(background=True)
    profile = parse_profile(RTU, "rtu", "rtu.toml")
    gauge = Gauge(GaugeSpec("probe", pair[1], profile, channel="B"), time.monotonic)
    got = listen(gauge.batches())

    def last(value=None, state=State.OK) -> bool:
        reading = gauge.last
        return reading is not None and reading.state is state and value in (None, reading.value)

    await until(lambda: last(-0.0005))
    assert got[0][0].unit is Unit.MM
    box.values[1] = 5_000
    await until(lambda: last(0.5))
    box.unit = 1
    await until(lambda: last(12.7))
    assert "switched from mm to in" in gauge.note
    box.values[1] = 0x7FFFFFFF
    await until(lambda: last(state=State.OVER_RANGE))
    box.state = 4
    await until(lambda: last(state=State.LOW_BATTERY))
    box.refuses = True
    await until(lambda: last(state=State.ERROR))
    box.refuses, box.state, box.unit, box.values[1] = False, 0, 0, -1
    await until(lambda: last(-0.0001))
    assert gauge.voice.asking.unasked == 0
    await server.shutdown()
    await until(lambda: gauge.voice.asking.unanswered > 1)


async def test_tcp_over_a_socket(listen, until):
    box = Box()
    server = ModbusTcpServer(box.device(7), address=("127.0.0.1", 0))
    await server.serve_forever(background=True)
    port = server.transport.sockets[0].getsockname()[1]
    text = RTU.replace("[modbus]", '[modbus]\nframing = "tcp"', 1)
    profile = parse_profile(text, "tcp", "tcp.toml")
    gauge = Gauge(GaugeSpec("probe", f"socket://127.0.0.1:{port}", profile), time.monotonic)
    got = listen(gauge.batches())
    await until(lambda: len(got) > 3)
    assert [(r.channel, r.value) for r in got[0]] == [("A", 1.2345), ("B", -0.0005)]
    assert gauge.wire.rejected_messages == 0
    gauge.stop()
    await until(lambda: gauge.link.state != "open")
    await server.shutdown()
