"""Checksums against other implementations and against the catalogue's check string."""

import binascii
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pymodbus.framer import FramerRTU

from drivers.profile.binary import CHECKSUM_BYTES, ChecksumTable
from drivers.wires.checksum import CHECKSUMS


# The check values are those the common CRC catalogue gives for "123456789", from memory.
@pytest.mark.parametrize(
    ("kind", "check"),
    [
        ("crc16-arc", "bb3d"),
        ("crc16-modbus", "4b37"),
        ("crc16-kermit", "2189"),
        ("crc16-x25", "906e"),
        ("crc16-xmodem", "31c3"),
        ("crc16-ccitt-false", "29b1"),
        ("sum8", "dd"),
        ("sum8-inverted", "22"),
        ("sum8-negative", "23"),
        ("xor8", "31"),
        ("xor8-inverted", "ce"),
    ],
)
def test_the_check_string(kind, check):
    assert CHECKSUMS[kind](b"123456789").hex() == check


@settings(deadline=None)
@given(st.binary(max_size=64))
def test_other_implementations_agree(data):
    # Python's own hqx is the xmodem one; pymodbus gives its bytes in the order they are sent.
    assert CHECKSUMS["crc16-xmodem"](data) == binascii.crc_hqx(data, 0).to_bytes(2, "big")
    sent = FramerRTU.compute_CRC(data).to_bytes(2, "big")
    assert CHECKSUMS["crc16-modbus"](data)[::-1] == sent
    assert sum(data + CHECKSUMS["sum8-negative"](data)) % 256 == 0


def test_profiles_know_exactly_these_checksums_and_their_sizes():
    kinds = get_args(ChecksumTable.model_fields["kind"].annotation)
    assert set(kinds) == set(CHECKSUMS) == set(CHECKSUM_BYTES)
    assert {k: len(f(b"")) for k, f in CHECKSUMS.items()} == CHECKSUM_BYTES
