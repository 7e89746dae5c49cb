"""Listening to pymodbus' own server: what its registers mean is believed of floats only."""

import struct
import time
from dataclasses import replace

from pymodbus.server import ModbusSerialServer, ModbusTcpServer
from pymodbus.simulator import DataType, SimData, SimDevice

from drivers.find.again import again
from drivers.find.overhear import Overheard, Patience, overhear
from drivers.find.placing.reads import read_with
from drivers.profile import load_profile, parse_profile, shipped_profiles
from tests.drivers.modbus_box import joined_ports

SHIPPED = [load_profile(name) for name in shipped_profiles()]
QUICK = Patience(silence_s=0.1, answer_s=0.1, ask_for_s=0.5, keys_s=0.1, total_s=6.0)


def floats(*values: float) -> list[int]:
    """Registers as the shipped profile reads them, the low one of two first."""
    pairs = [struct.unpack(">HH", struct.pack(">f", value)) for value in values]
    return [register for high, low in pairs for register in (low, high)]


def device(registers: list[int]) -> SimDevice:
    return SimDevice(1, [SimData(0, values=registers, datatype=DataType.REGISTERS)])


async def over_tcp(registers: list[int], patience: Patience = QUICK) -> tuple[Overheard, str]:
    server = ModbusTcpServer(device(registers), address=("127.0.0.1", 0))
    await server.serve_forever(background=True)
    url = f"socket://127.0.0.1:{server.transport.sockets[0].getsockname()[1]}"
    try:
        heard = await overhear(url, SHIPPED, time.monotonic, lambda _: None, patience)
        if heard.placed.proposals:
            sound = await again(url, heard, 1.5, time.monotonic)
            assert len(read_with(heard.placed.proposals[0].profile, sound).said) > 2
        return heard, url
    finally:
        await server.shutdown()


async def over_a_line(registers: list[int]) -> Overheard:
    async with joined_ports() as (theirs, ours):
        server = ModbusSerialServer(device(registers), port=theirs)
        await server.serve_forever(background=True)
        try:
            return await overhear(ours, SHIPPED, time.monotonic, lambda _: None, QUICK)
        finally:
            await server.shutdown()


async def test_floats_over_a_socket_are_placed():
    heard, _ = await over_tcp(floats(1.234, -0.5))
    [proposal] = heard.placed.proposals
    assert proposal.profile.name == "modbus-tcp"
    assert {(s.channel, s.value) for s in proposal.said} == {("1", 1.234), ("2", -0.5)}
    assert proposal.assumed


async def test_registers_that_are_no_floats_are_not_believed():
    heard, _ = await over_tcp([0, 1234, 0, 5])
    assert heard.placed.proposals == ()
    assert "what one count is worth" in heard.placed.why


async def test_over_a_line_it_is_known_for_modbus_and_a_profile_to_fill_in_is_given():
    heard = await over_a_line([0, 12345, 0, 0])
    assert heard.placed.proposals == ()
    assert "what one count is worth" in heard.placed.why
    assert heard.settings["parity"] == "even"
    start = parse_profile(heard.placed.start, "start", "start.toml")
    assert {said.value for said in read_with(start, heard.sound).said} == {1.2345}


async def test_a_box_that_refuses_these_registers_is_known_for_modbus():
    async with joined_ports() as (theirs, ours):
        box = SimDevice(1, [SimData(100, values=[7] * 4, datatype=DataType.REGISTERS)])
        server = ModbusSerialServer(box, port=theirs)
        await server.serve_forever(background=True)
        heard = await overhear(ours, SHIPPED, time.monotonic, lambda _: None, QUICK)
        await server.shutdown()
    assert heard.placed.proposals == ()
    assert "refuses the registers" in heard.placed.why


async def test_what_is_no_modbus_is_not_taken_for_it():
    quick = replace(QUICK, total_s=3.0)
    async with joined_ports() as (_, ours):
        heard = await overhear(ours, SHIPPED, time.monotonic, lambda _: None, quick)
    assert heard.placed.proposals == ()
    assert heard.sound.data == b""
