"""The `modbus` wire: registers are asked for, and the answer holds the number.

Over a serial line the frame is Modbus RTU, over a socket Modbus TCP; both are put together and
checked by pymodbus' framers, which need no port. Where an answer ends is known from what was asked
(pymodbus would guess it, and swallows what follows), so this wire finds the frame and pymodbus
says whether it is one.
"""

import struct
from collections.abc import Mapping
from decimal import Decimal
from functools import cached_property
from math import isfinite
from typing import TYPE_CHECKING, Any, Self

from drivers.reading import State
from drivers.wires.base import DECIMALS_MAX, WHOLE_DIGITS_MAX, Heard, together
from drivers.wires.frame import decimal_text
from drivers.wires.sliding import NEED_MORE, NOT_MINE, Sliding

if TYPE_CHECKING:
    from pymodbus.framer.base import FramerBase
    from pymodbus.pdu import ModbusPDU

READ_HOLDING, READ_INPUT = 3, 4
_EXCEPTION = 0x80
_TCP_HEAD_BYTES = 6  # running number, protocol 0, length
_RTU_TAIL_BYTES = 2  # the checksum
_RUNNING_NUMBER_MAX = 0xFFFF
_STRUCTS = {"int16": ">h", "uint16": ">H", "int32": ">i", "uint32": ">I", "float32": ">f"}
# The four bytes of a value as they come, A the highest; two bytes are AB or BA.
_ORDERS = {"ABCD": (0, 1, 2, 3), "CDAB": (2, 3, 0, 1), "BADC": (1, 0, 3, 2), "DCBA": (3, 2, 1, 0)}


class Modbus(Sliding):
    """Keeps the contract of `drivers.wires.base.Wire`. table: the profile's checked `modbus`."""

    def __init__(self, table: Mapping[str, Any]) -> None:
        self._device: int = table["device"]
        self._function = READ_HOLDING if table["table"] == "holding" else READ_INPUT
        self._tcp: bool = table["framing"] == "tcp"
        self._channels: Mapping[str, int] = table["channels"]
        self._type: str = table["type"]
        self._order: str = table["order"]
        self._scale: Decimal = table["scale"]
        self._codes: Mapping[str, State] = table["codes"]
        self._unit: Mapping[str, Any] | None = table["unit"]
        self._state: Mapping[str, Any] | None = table["state"]
        self._first, self._count = _block(table)
        self._running = 0
        self._open = False  # the answer to the running number has not come yet
        size = 3 + 2 * self._count + (_TCP_HEAD_BYTES if self._tcp else _RTU_TAIL_BYTES)
        super().__init__(size, sure=True)

    @classmethod
    def described(cls, tables: Mapping[str, Mapping[str, Any]]) -> Self:
        """Build from the profile's table `modbus`."""
        return cls(tables["modbus"])

    def ask(self) -> bytes:
        """Read all registers described, in one request; a new running number each time."""
        self._running = self._running % _RUNNING_NUMBER_MAX + 1
        self._open = True
        request = self._request
        request.transaction_id = self._running
        return self._framer.buildFrame(request)

    @cached_property
    def _framer(self) -> "FramerBase":
        from pymodbus.framer import FramerRTU, FramerSocket
        from pymodbus.pdu import DecodePDU

        return (FramerSocket if self._tcp else FramerRTU)(DecodePDU(is_server=False))

    @cached_property
    def _request(self) -> "ModbusPDU":
        from pymodbus.pdu import register_message as messages

        holding = self._function == READ_HOLDING
        kind = (
            messages.ReadHoldingRegistersRequest if holding else messages.ReadInputRegistersRequest
        )
        return kind(address=self._first, count=self._count, dev_id=self._device)

    def _next(self, data: bytes, at: int) -> int:
        begin = self._running.to_bytes(2, "big") if self._tcp else bytes([self._device])
        found = data.find(begin, at)
        if found >= 0:
            return found
        return len(data) - (self._tcp and data[-1:] == begin[:1] and at < len(data))

    def _fit(self, data: bytes, at: int, heard: list[Heard]) -> int:
        """One answer at `at`: registers, or the device's own refusal."""
        if self._tcp and not self._open:
            return NOT_MINE
        head = _TCP_HEAD_BYTES if self._tcp else 0
        tail = 0 if self._tcp else _RTU_TAIL_BYTES
        answers = ((self._function, 2 * self._count), (self._function | _EXCEPTION, None))
        worst = NOT_MINE
        for function, payload_bytes in answers:
            body = 3 + (payload_bytes or 0)
            expected = self._head(body) + bytes([self._device, function])
            if payload_bytes is not None:
                expected += bytes([payload_bytes])
            frame = data[at : at + head + body + tail]
            if not frame.startswith(expected[: len(frame)]):
                continue
            if len(frame) < head + body + tail:
                worst = NEED_MORE
                continue
            used, _, _, pdu = self._framer.decode(frame)
            if used == len(frame) and pdu and self._read(pdu, heard):
                self._open = False
                return used
        return worst

    def _head(self, body_bytes: int) -> bytes:
        """How an answer over a socket begins; a late one has another running number."""
        return struct.pack(">HHH", self._running, 0, body_bytes) if self._tcp else b""

    def _read(self, pdu: bytes, heard: list[Heard]) -> bool:
        if pdu[0] & _EXCEPTION:
            for channel in self._channels:
                together(heard, "", "", channel, State.ERROR, False)
            return True
        registers = pdu[2:]
        unit = _word(self._unit, registers, self._first) if self._unit else ""
        state = _word(self._state, registers, self._first) if self._state else State.OK
        if unit is None or state is None:
            return False
        said: list[tuple[str, str, State]] = []
        for channel, register in self._channels.items():
            number, own = self._number(registers, register)
            own = state if state is not State.OK else own
            if number is None and own is State.OK:
                return False
            said.append((number or "" if own is State.OK else "", channel, own))
        for text, channel, own in said:
            together(heard, text, unit, channel, own, False)
        return True

    def _number(self, registers: bytes, register: int) -> tuple[str | None, State]:
        """The number at `register` as text, or what its code means."""
        kind = _STRUCTS[self._type]
        at = 2 * (register - self._first)
        raw = registers[at : at + struct.calcsize(kind)]
        if len(raw) == 4:
            raw = bytes(raw[i] for i in _ORDERS[self._order])
        elif self._order in ("BADC", "DCBA"):
            raw = raw[::-1]
        if (code := self._codes.get(raw.hex())) is not None:
            return None, code
        (value,) = struct.unpack(kind, raw)
        if not isinstance(value, float):
            return decimal_text(value * self._scale), State.OK
        if not isfinite(value):
            return None, State.ERROR
        scaled = Decimal(value) * self._scale
        if abs(scaled) >= 10**WHOLE_DIGITS_MAX:
            return None, State.OK
        # To the millionth, the grid of all readings; a float has more digits than it means.
        return decimal_text(round(scaled, DECIMALS_MAX)), State.OK


def _word(table: Mapping[str, Any], registers: bytes, first: int) -> Any:
    at = 2 * (table["address"] - first)
    value = int.from_bytes(registers[at : at + 2], "big") & table["mask"]
    return table["words"].get(value)


def _block(table: Mapping[str, Any]) -> tuple[int, int]:
    """The first register and how many, so that one request reads them all."""
    size = struct.calcsize(_STRUCTS[table["type"]]) // 2
    ends = [(register, register + size) for register in table["channels"].values()]
    ends += [(t["address"], t["address"] + 1) for t in (table["unit"], table["state"]) if t]
    first = min(begin for begin, _ in ends)
    return first, max(end for _, end in ends) - first
