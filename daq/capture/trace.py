"""`Trace`: the readings of one capture kept raw, in whole numbers, packed small.

Layout of the packed bytes: magic, version, number of the unit, count of readings, the columns of
values, times and flags (`columns` says how), and a CRC-32 of all before it.
"""

import hashlib
import zlib
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from daq.capture.columns import (
    LARGEST,
    ColumnError,
    Cursor,
    Whole,
    inflate,
    natural_bytes,
    pack_column,
    shortest_deflate,
    unpack_column,
)
from drivers.reading import TIME_STEPS_PER_S, VALUE_STEPS_PER_UNIT, Reading, State, Unit

MAGIC = b"btTr"
VERSION = 1
# 2.7 hours at 1000 readings a second: more than this in one capture is a fault, not a trace.
MAX_READINGS = 10_000_000
_CRC_BYTES = 4
# Written into files: the order is part of version 1. Add at the end, never sort.
_UNITS = (Unit.MM, Unit.DEG, Unit.MBAR, Unit.NEWTON, Unit.CELSIUS)
_STATES = (State.OK, State.OVER_RANGE, State.LOW_BATTERY, State.ERROR)
_STATE_BITS, _MARK, _COMMIT = 0x0F, 0x10, 0x20


class TraceError(ValueError):
    """A stored trace cannot be read, or readings cannot be stored exactly."""


@dataclass(frozen=True, eq=False)
class Trace:
    """Readings of one gauge in one unit, in order of arrival.

    values: millionths of `unit` (0 where the state is not OK). times: in 0.1 ms. flags: state,
    mark and commit of each reading in one byte. All of one length, at least 1.
    """

    unit: Unit
    values: Whole
    times: Whole
    flags: NDArray[np.uint8]

    def __len__(self) -> int:
        return len(self.values)

    @classmethod
    def of(cls, readings: Sequence[Reading]) -> "Trace":
        """The trace of `readings`: at least one, all in one unit, on the grids of `Reading`.

        Raises TraceError where it could not give back the very same numbers.
        """
        if not 1 <= len(readings) <= MAX_READINGS:
            raise TraceError(f"A trace holds 1 to {MAX_READINGS} readings, not {len(readings)}.")
        unit = readings[0].unit
        values = np.zeros(len(readings), np.int64)
        times = np.zeros(len(readings), np.int64)
        flags = np.zeros(len(readings), np.uint8)
        for place, reading in enumerate(readings):
            if reading.unit != unit:
                raise TraceError(f"Reading {place} is in {reading.unit}, the first in {unit}.")
            times[place] = _whole(reading.t_s, TIME_STEPS_PER_S, "time", place)
            if reading.state is State.OK:
                values[place] = _whole(reading.value, VALUE_STEPS_PER_UNIT, "value", place)
            flags[place] = _flag(reading)
        return cls(unit, values, times, flags)

    def readings(self, gauge: str = "", channel: str = "") -> list[Reading]:
        """The same readings again, every float bit for bit."""
        return [
            Reading(
                gauge,
                channel,
                time / TIME_STEPS_PER_S,
                float("nan") if flag & _STATE_BITS else value / VALUE_STEPS_PER_UNIT,
                self.unit,
                _STATES[flag & _STATE_BITS],
                mark=bool(flag & _MARK),
                commit=bool(flag & _COMMIT),
            )
            for value, time, flag in zip(
                self.values.tolist(), self.times.tolist(), self.flags.tolist(), strict=True
            )
        ]

    def pack(self) -> bytes:
        """The bytes to store; the same readings give the same bytes."""
        body = b"".join(
            [
                MAGIC,
                bytes([VERSION, _UNITS.index(self.unit)]),
                natural_bytes(len(self)),
                pack_column(self.values),
                pack_column(self.times),
                shortest_deflate(self.flags.tobytes()),
            ]
        )
        return body + zlib.crc32(body).to_bytes(_CRC_BYTES, "little")

    @property
    def sha256(self) -> str:
        """Hex digest of the packed bytes, which is what a record holds."""
        return hashlib.sha256(self.pack()).hexdigest()

    @classmethod
    def unpack(cls, packed: bytes) -> "Trace":
        """The trace in `packed`. Raises TraceError when it is not a whole, unaltered trace."""
        if packed[: len(MAGIC)] != MAGIC:
            raise TraceError("This is no stored trace: it does not begin with its mark.")
        body, crc = packed[:-_CRC_BYTES], packed[-_CRC_BYTES:]
        if zlib.crc32(body).to_bytes(_CRC_BYTES, "little") != crc:
            raise TraceError("The stored trace was cut short or altered: its checksum is wrong.")
        cursor = Cursor(body[len(MAGIC) :])
        try:
            version, unit = cursor.take(2)
            if version != VERSION:
                raise TraceError(f"The stored trace has version {version}; known is {VERSION}.")
            count = cursor.natural()
            if not 1 <= count <= MAX_READINGS or unit >= len(_UNITS):
                raise TraceError(f"The stored trace says unit {unit} and {count} readings.")
            values, times = unpack_column(cursor, count), unpack_column(cursor, count)
            flags = np.frombuffer(inflate(cursor, count), np.uint8)
        except ColumnError as error:
            raise TraceError(f"The stored trace contradicts itself: {error}.") from error
        if cursor.left or ((flags & _STATE_BITS) >= len(_STATES)).any():
            raise TraceError("The stored trace holds more than a trace does.")
        return cls(_UNITS[unit], values, times, flags)


def _flag(reading: Reading) -> int:
    state = _STATES.index(reading.state)
    return state | (_MARK if reading.mark else 0) | (_COMMIT if reading.commit else 0)


def _whole(number: float, steps: int, what: str, place: int) -> int:
    try:
        whole = round(number * steps)
    except (ValueError, OverflowError):
        raise TraceError(f"The {what} of reading {place} is {number}: no number.") from None
    if whole / steps != number or abs(whole) >= LARGEST:
        raise TraceError(
            f"The {what} {number} of reading {place} is not a whole number of 1/{steps}; "
            "it would not come back as it was."
        )
    return whole
