"""Checksums that gauges put behind their messages, each as bytes, highest byte first.

The names of the 16-bit ones are those of the common parametrised catalogue of CRC algorithms
(width, polynomial, start, reflection, final xor); the parameters are written down from memory and
checked by tests against other implementations and the catalogue's check string "123456789".
"""

from collections.abc import Callable
from functools import cache, reduce
from operator import xor


def sum8(data: bytes) -> bytes:
    """The lowest byte of the sum."""
    return bytes([sum(data) & 0xFF])


def sum8_inverted(data: bytes) -> bytes:
    """All bits of the sum turned round (ones' complement)."""
    return bytes([~sum(data) & 0xFF])


def sum8_negative(data: bytes) -> bytes:
    """What makes the sum of everything zero (two's complement)."""
    return bytes([-sum(data) & 0xFF])


def xor8(data: bytes) -> bytes:
    """Exclusive or of all bytes."""
    return bytes([reduce(xor, data, 0)])


def xor8_inverted(data: bytes) -> bytes:
    """Exclusive or of all bytes, all bits turned round."""
    return bytes([reduce(xor, data, 0xFF)])


def _crc16(polynomial: int, start: int, final: int, *, reflected: bool) -> Callable[[bytes], bytes]:
    @cache
    def table() -> tuple[int, ...]:
        return tuple(_one_byte(value, polynomial, reflected=reflected) for value in range(256))

    def checksum(data: bytes) -> bytes:
        entries, crc = table(), start
        for byte in data:
            if reflected:
                crc = (crc >> 8) ^ entries[(crc ^ byte) & 0xFF]
            else:
                crc = ((crc << 8) & 0xFFFF) ^ entries[(crc >> 8) ^ byte]
        return (crc ^ final).to_bytes(2, "big")

    return checksum


def _one_byte(value: int, polynomial: int, *, reflected: bool) -> int:
    crc = value if reflected else value << 8
    for _ in range(8):
        if reflected:
            crc = (crc >> 1) ^ (polynomial if crc & 1 else 0)
        else:
            crc = ((crc << 1) & 0xFFFF) ^ (polynomial if crc & 0x8000 else 0)
    return crc


CHECKSUMS: dict[str, Callable[[bytes], bytes]] = {
    "sum8": sum8,
    "sum8-inverted": sum8_inverted,
    "sum8-negative": sum8_negative,
    "xor8": xor8,
    "xor8-inverted": xor8_inverted,
    "crc16-arc": _crc16(0xA001, 0x0000, 0, reflected=True),
    "crc16-modbus": _crc16(0xA001, 0xFFFF, 0, reflected=True),
    "crc16-kermit": _crc16(0x8408, 0x0000, 0, reflected=True),
    "crc16-x25": _crc16(0x8408, 0xFFFF, 0xFFFF, reflected=True),
    "crc16-xmodem": _crc16(0x1021, 0x0000, 0, reflected=False),
    "crc16-ccitt-false": _crc16(0x1021, 0xFFFF, 0, reflected=False),
}
