"""Whole numbers packed small: the columns of a stored trace.

A column is cut into differences from one number to the next (order 1), or differences of those
(order 2, shorter while a part turns smoothly), minus their median, in units of their greatest
common divisor. Zigzag makes them whole numbers from 0 up; byte planes, low bytes first, and
deflate do the rest. Whichever order and deflate strategy comes out shortest is kept: reading
needs to know the order only.
"""

import zlib
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

Whole = NDArray[np.int64]

# Readings are exact as floats only below 2**53; two differences more stay far inside 64 bits.
LARGEST = 2**53
_ORDERS = (1, 2)
_MOST_PLANES = 8
_RAW_DEFLATE = -15
_STRATEGIES = (zlib.Z_DEFAULT_STRATEGY, zlib.Z_HUFFMAN_ONLY)


class ColumnError(ValueError):
    """Packed bytes end too soon or contradict themselves."""


class Cursor:
    """Reads packed bytes from front to back and never past the end."""

    def __init__(self, data: bytes) -> None:
        self._data = data
        self._at = 0

    @property
    def left(self) -> int:
        """How many bytes have not been read."""
        return len(self._data) - self._at

    def take(self, count: int) -> bytes:
        """The next `count` bytes."""
        if count > self.left:
            raise ColumnError(f"{count} bytes are needed where {self.left} are left")
        part = self._data[self._at : self._at + count]
        self._at += count
        return part

    def natural(self) -> int:
        """A number from 0 up, seven bits a byte, low bits first (LEB128)."""
        number = 0
        for shift in range(0, 70, 7):
            (byte,) = self.take(1)
            number |= (byte & 0x7F) << shift
            if not byte & 0x80:
                return number
        raise ColumnError("a number is longer than 64 bits")

    def integer(self) -> int:
        """A zigzagged number of either sign."""
        number = self.natural()
        return number >> 1 ^ -(number & 1)


def natural_bytes(number: int) -> bytes:
    """The bytes `Cursor.natural` reads."""
    out = bytearray()
    while number > 0x7F:
        out.append(number & 0x7F | 0x80)
        number >>= 7
    out.append(number)
    return bytes(out)


def integer_bytes(number: int) -> bytes:
    """The bytes `Cursor.integer` reads."""
    return natural_bytes(number << 1 if number >= 0 else (-number << 1) - 1)


def shortest_deflate(data: bytes) -> bytes:
    """Raw deflate of `data` by whichever strategy comes out shortest, its length in front."""
    best = min((_deflate(data, strategy) for strategy in _STRATEGIES), key=len)
    return natural_bytes(len(best)) + best


def inflate(cursor: Cursor, size: int) -> bytes:
    """What `shortest_deflate` packed; exactly `size` bytes, never more in memory."""
    packed = cursor.take(cursor.natural())
    inflater = zlib.decompressobj(_RAW_DEFLATE)
    try:
        data = inflater.decompress(packed, size + 1)
    except zlib.error as error:
        raise ColumnError(f"deflate says: {error}") from error
    if len(data) != size or not inflater.eof:
        raise ColumnError(f"a column does not unpack to {size} bytes")
    return data


def pack_column(numbers: Whole) -> bytes:
    """The bytes of a column of at least one number, each below 2**53 in size."""
    return min((_pack(numbers, order) for order in _ORDERS), key=len)


def unpack_column(cursor: Cursor, count: int) -> Whole:
    """The `count` numbers that `pack_column` packed."""
    (order,) = cursor.take(1)
    if order not in _ORDERS:
        raise ColumnError(f"differences of order {order} are unknown")
    firsts = [cursor.integer() for _ in range(min(order, count))]
    divisor, median = cursor.natural(), cursor.integer()
    (planes,) = cursor.take(1)
    if planes > _MOST_PLANES:
        raise ColumnError(f"{planes} byte planes are more than a number has")
    rest = max(count - order, 0)
    data = np.frombuffer(inflate(cursor, planes * rest), np.uint8).reshape(planes, rest)
    zigzag = np.zeros(rest, np.uint64)
    for plane, row in enumerate(data):
        zigzag |= row.astype(np.uint64) << np.uint64(8 * plane)
    deltas = (zigzag >> np.uint64(1)).astype(np.int64) ^ -(zigzag & np.uint64(1)).astype(np.int64)
    numbers = (deltas + median) * divisor
    for first in reversed(firsts):
        numbers = np.concatenate(([np.int64(first)], numbers)).cumsum()
    return numbers


def _deflate(data: bytes, strategy: int) -> bytes:
    packer = zlib.compressobj(9, zlib.DEFLATED, _RAW_DEFLATE, 9, strategy)
    return packer.compress(data) + packer.flush()


def _pack(numbers: Whole, order: int) -> bytes:
    firsts: list[int] = []
    deltas = numbers
    for _ in range(min(order, len(numbers))):
        firsts.append(int(deltas[0]))
        deltas = np.diff(deltas)
    divisor = int(np.gcd.reduce(deltas)) if len(deltas) else 0
    divisor = divisor or 1
    scaled = deltas // divisor
    median = int(np.median(scaled)) if len(scaled) else 0
    planes = list(_planes(scaled - median))
    return b"".join(
        [
            bytes([order]),
            *map(integer_bytes, firsts),
            natural_bytes(divisor),
            integer_bytes(median),
            bytes([len(planes)]),
            shortest_deflate(b"".join(planes)),
        ]
    )


def _planes(deltas: Whole) -> Iterable[bytes]:
    zigzag = np.where(deltas >= 0, deltas << 1, (-deltas << 1) - 1).astype(np.uint64)
    while zigzag.any():
        yield (zigzag & np.uint64(0xFF)).astype(np.uint8).tobytes()
        zigzag >>= np.uint64(8)
