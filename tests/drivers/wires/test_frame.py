"""What a frame can be, and what is refused rather than guessed."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pymodbus.framer import FramerRTU

from drivers.profile import parse_profile
from drivers.reading import State
from drivers.wires.base import Answer, Heard
from drivers.wires.frame import Frame

HEAD = 'about = "invented"\nwire = "frame"\nunit = "mm"\n[frame]\n'


def frame(text: str) -> Frame:
    return Frame.described(parse_profile(HEAD + text, "x", "x.toml").model_dump())


# 52 bits as digits: FFFF, sign, six digits highest first, decimals, unit; sent by an adapter in
# one of the ways below. The meaning of the digits is common practice, from memory.
THIRTEEN = """
[frame.number]
at = 5
digits = 6
[frame.sign]
at = 4
plus = 0
minus = 8
[frame.decimals]
at = 11
[frame.unit]
at = 12
words = { 0 = "mm", 1 = "in" }
"""
DIGITS = "ffff801234530"  # -12.345 mm


def packed(digits: str, *, low_first: bool = False, turned: bool = False) -> bytes:
    if turned:
        digits = "".join(f"{int(f'{int(d, 16):04b}'[::-1], 2):x}" for d in digits)
    digits += "0" * (len(digits) % 2)
    pairs = [digits[i : i + 2] for i in range(0, len(digits), 2)]
    return bytes(int(p[::-1] if low_first else p, 16) for p in pairs)


@pytest.mark.parametrize(
    ("how", "data"),
    [
        ('bytes = 7\nstart = "FF FF"', packed(DIGITS)),
        (
            'bytes = 7\nstart = "FF FF"\npacking = "low-first"',
            packed(DIGITS, low_first=True),
        ),
        ('bytes = 7\nstart = "FF FF"\nbits_turned = true', packed(DIGITS, turned=True)),
        (
            'bytes = 13\nstart = "0F 0F 0F 0F"\npacking = "one-a-byte"',
            bytes(int(d, 16) for d in DIGITS),
        ),
        (
            'bytes = 14\nstart = "46 46 46 46"\nstop = "0D"\npacking = "hex-text"',
            DIGITS.upper().encode() + b"\r",
        ),
        (
            'bytes = 14\nstop = "0D"\npacking = "hex-text"',
            DIGITS.encode() + b"\r",
        ),
    ],
)
def test_thirteen_digits_in_each_way_an_adapter_may_pack_them(how, data):
    assert frame(how + THIRTEEN).feed(data * 2) == [Heard(["-12.345", "-12.345"], "mm")]


# A 24-bit frame: 20 bits of value, the sign and the inch flag in the top bits, lowest bits first.
# From memory, as is that inches count in half thousandths.
TWENTY_FOUR = """
bytes = 5
start = "02"
stop = "03"
packing = "low-first"
[frame.number]
at = 2
digits = 5
kind = "unsigned"
order = "low-first"
step = "0.01"
[frame.sign]
at = 7
mask = 1
plus = 0
minus = 1
[frame.unit]
at = 7
mask = 8
words = { 0 = "mm", 8 = "in" }
steps = { in = "0.0005" }
"""


@pytest.mark.parametrize(
    ("value", "flags", "number", "unit"),
    [(1234, 0, "12.34", "mm"), (1234, 1, "-12.34", "mm"), (1234, 8, "0.6170", "in")],
)
def test_twenty_four_bits_with_flags_and_a_step_that_depends_on_the_unit(
    value, flags, number, unit
):
    data = b"\x02" + (value | flags << 20).to_bytes(3, "little") + b"\x03"
    assert frame(TWENTY_FOUR).feed(data) == [Heard([number], unit)]


@settings(deadline=None)
@given(st.integers(-(2**31), 2**31 - 1))
def test_whole_numbers_in_both_orders(value):
    big = frame('bytes = 5\nstart = "AA"\n[frame.number]\nat = 2\ndigits = 8\nkind = "signed"')
    low = frame(
        'bytes = 5\nstart = "AA"\n[frame.number]\nat = 2\ndigits = 8\nkind = "signed"\n'
        'order = "low-byte-first"'
    )
    expected = [Heard([str(value)])] if abs(value) < 10**8 else []
    assert big.feed(b"\xaa" + value.to_bytes(4, "big", signed=True)) == expected
    assert low.feed(b"\xaa" + value.to_bytes(4, "little", signed=True)) == expected


CRC = (
    'bytes = 6\nstart = "AA"\n[frame.number]\nat = 2\ndigits = 6\nstep = "0.001"\n'
    '[frame.checksum]\nkind = "crc16-modbus"\nat = 4\nfirst = 0\nlast = 3\norder = "low-first"\n'
)


BODY = bytes.fromhex("aa012345")
CHECKED = BODY + FramerRTU.compute_CRC(BODY).to_bytes(2, "big")  # as pymodbus sends it


def test_a_checksum_over_what_stands_before_it():
    good = CHECKED
    wire = frame(CRC)
    assert wire.feed(good) == [Heard(["12.345"])]
    for place in range(len(good)):
        for bit in range(8):
            bad = bytearray(good)
            bad[place] ^= 1 << bit
            assert frame(CRC).feed(bytes(bad)) == []
    assert wire.feed(good[:-1] + b"\0") == []
    assert (wire.rejected_messages, wire.rejected_bytes) == (1, 6)
    assert wire.answer is Answer.NOT_MINE


@pytest.mark.parametrize(
    "cells", ["ffff4000000030", "ffff0000a00030", "ffff0001234070", "ffff000123403f"]
)
def test_a_sign_a_digit_decimals_or_a_unit_that_cannot_be_make_no_reading(cells):
    wire = frame('bytes = 7\nstart = "FF FF"' + THIRTEEN)
    assert wire.feed(bytes.fromhex(cells.ljust(14, "0")[:14])) == []
    assert wire.rejected_bytes + len(wire._held) == 7


def test_a_code_in_place_of_the_number_and_a_state_beside_it():
    wire = frame(
        'bytes = 3\nstart = "AA"\n[frame.number]\nat = 2\ndigits = 3\ncodes = { 0xFFF = "error" }\n'
        '[frame.state]\nat = 5\nwords = { 0 = "ok", 1 = "low-battery" }'
    )
    assert wire.feed(bytes.fromhex("aa1230 aafff0 aa1231 aafff1 aa1232")) == [
        Heard(["123"]),
        Heard([""], state=State.ERROR),
        Heard(["", ""], state=State.LOW_BATTERY),
    ]
    assert wire.rejected_bytes == 3


def test_without_a_checksum_the_first_frame_after_a_tear_only_shows_the_place():
    wire = frame('bytes = 3\nstart = "AA"\n[frame.number]\nat = 2\ndigits = 4\nkind = "unsigned"')
    wire.restart(torn=True)
    assert wire.feed(bytes.fromhex("aa01 aa0001 aa0002")) == [Heard(["2"])]
    # The tail with the next start behind it looks like a frame, and is not believed.
    assert (wire.skipped_bytes, wire.rejected_bytes) == (3, 2)
    checked = frame(CRC)
    checked.restart(torn=True)
    assert checked.feed(bytes.fromhex("45") + CHECKED) == [Heard(["12.345"])]
    assert checked.skipped_bytes == 1
