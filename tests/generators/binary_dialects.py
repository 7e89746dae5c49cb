"""Invented binary frames, made up at random, with the truth in millimetres.

Some say how large their number is (a float, a number of decimals), some do not: those must not be
placed. Nothing of it knows how listening works.
"""

import random
import struct
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from functools import reduce
from operator import xor

from tests.generators.dialects import spindle_mm

KINDS = ("float", "bcd", "integer", "no scale")


@dataclass(frozen=True)
class BinaryDialect:
    """messages: frames and the millimetres in them. told: whether a frame says how large it is."""

    messages: list[tuple[bytes, Decimal]]
    told: bool
    drawn: str


def binary_dialect(seed: int) -> BinaryDialect:
    """One, always the same for the same seed."""
    rng = random.Random(seed)
    kind = rng.choice(KINDS)
    decimals = rng.choice([2, 3, 3, 3])
    head = bytes(rng.sample([0xAA, 0x55, 0x7E, 0xA5, 0xFF, 0x02, 0x5A, 0xC3], rng.choice([1, 2])))
    counts = rng.random() < 0.3
    address = rng.choice([b"", b"", b"\x01", b"\x11"])
    flags = rng.choice([b"", b"\x00", b"\x20"])
    check = rng.choice(["", "xor", "sum", "neg"])
    stop = rng.choice([b"", b"", b"\r", b"\x03", b"\r\n"])
    little = rng.random() < 0.5
    apart = rng.random() < 0.6
    messages = []
    for index, mm in enumerate(spindle_mm(rng, rng.choice([20, 40]), rng.choice([0.9, 5.0, 40.0]))):
        value = Decimal(repr(mm)).quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_EVEN)
        body = head + address
        body += bytes([index % 256]) if counts else b""
        body += _number(kind, value, decimals, little=little, apart=apart) + flags
        body += _check(check, body)
        messages.append((body + stop, value))
    drawn = f"{kind} decimals={decimals} little={little} {check} {messages[0][0].hex(' ')}"
    return BinaryDialect(messages, kind != "no scale", drawn)


def _number(kind: str, value: Decimal, decimals: int, *, little: bool, apart: bool) -> bytes:
    count = int(value.scaleb(decimals))
    order = "<" if little else ">"
    if kind == "float":
        return struct.pack(order + "f", float(value))
    if kind == "bcd":
        digits = bytes.fromhex(f"{abs(count):06d}")
        sign = b"\x80" if count < 0 else b"\x00"
        if not apart:
            sign = b"-" if count < 0 else b"+"
        return sign + (digits[::-1] if little else digits) + bytes([decimals])
    whole = struct.pack(order + "i", count)
    return whole + (bytes([decimals]) if kind == "integer" else b"")


def _check(kind: str, body: bytes) -> bytes:
    if not kind:
        return b""
    value = reduce(xor, body, 0) if kind == "xor" else sum(body)
    return bytes([(-value if kind == "neg" else value) & 0xFF])
