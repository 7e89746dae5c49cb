"""Modbus from pymodbus' own server: RTU over a pair of pseudo ports, TCP over a socket."""

import time
from collections.abc import AsyncGenerator

import pytest
from pymodbus.server import ModbusSerialServer, ModbusTcpServer

from drivers.gauge import Gauge, GaugeSpec
from drivers.profile import parse_profile
from drivers.reading import State, Unit
from tests.drivers.modbus_box import RTU, Box, joined_ports


@pytest.fixture
async def pair() -> AsyncGenerator[tuple[str, str], None]:
    async with joined_ports() as ports:
        yield ports


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
    # On a busy computer an answer may come too late: it is then nobody's, and no other is.
    asking = gauge.voice.asking
    assert asking.unasked <= profile.answers * asking.unanswered
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
