"""A pretend Modbus box behind pymodbus' own server, and two pseudo ports joined by a wire."""

import asyncio
import os
import tty
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress

from pymodbus.constants import ExcCodes
from pymodbus.simulator import DataType, SimData, SimDevice

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


@asynccontextmanager
async def joined_ports() -> AsyncIterator[tuple[str, str]]:
    """Two pseudo ports: what goes into one comes out of the other."""
    loop = asyncio.get_running_loop()
    ours, theirs = zip(os.openpty(), os.openpty(), strict=True)
    for end in (*ours, *theirs):
        tty.setraw(end)

    def carry(source: int, target: int) -> None:
        with suppress(OSError):
            os.write(target, os.read(source, 4096))

    for source, target in (ours, ours[::-1]):
        loop.add_reader(source, carry, source, target)
    try:
        yield os.ttyname(theirs[0]), os.ttyname(theirs[1])
    finally:
        for end in ours:
            loop.remove_reader(end)
        for end in (*ours, *theirs):
            os.close(end)


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
