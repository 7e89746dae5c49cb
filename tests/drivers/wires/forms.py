"""Invented ways of speaking that no shipped profile has, each with messages it understands.

Both the property tests and the fuzzer take them, beside the shipped profiles.
"""

from typing import NamedTuple

from drivers.profile import Profile, parse_profile

HEAD = 'about = "invented"\nunit = "mm"\n'


class Form(NamedTuple):
    """The tables of a profile, and messages with the numbers that are in them."""

    tables: str
    messages: tuple[bytes, ...]
    numbers: tuple[str, ...]

    def profile(self) -> Profile:
        """The checked profile."""
        return parse_profile(HEAD + self.tables, "form", "form.toml")


FORMS = {
    "line-with-channel": Form(
        """
wire = "line"
[line]
prefix = "N:"
channels = ["1", "12"]
after_channel = "="
decimals = 3
status_words = { "9999.999" = "over-range" }
""",
        (b"N:1=+0.500\r\n", b"N:12=-0.125\n", b"N:1=9999.999\r"),
        ("+0.500", "-0.125", ""),
    ),
    "line-of-a-length": Form(
        """
wire = "line"
[line]
decimal = ","
chars = 8
decimals = 3
unit_words = { mm = "mm" }
""",
        (b"+001,500\r\n", b"1,500 mm\n"),
        ("+001.500", "1.500"),
    ),
    "picture-of-a-length": Form(
        """
wire = "picture"
[picture]
line = "{flag}{number}{key:!}"
chars = 9
decimals = 3
flag_words = { L = "low-battery" }
""",
        (b" +001.500", b"L+001.500", b"+001.500!"),
        ("+001.500", "", "+001.500"),
    ),
    "picture-with-a-checksum": Form(
        """
wire = "picture"
[picture]
line = "\\u0002{digits:4} {from}{number} {unit}{to}\\u0003{raw-check:xor8}"
end = "\\u0003"
tail_bytes = 1
unit_words = { mm = "mm", in = "in" }
""",
        (b"\x020017 +1.500 mm\x03\x21", b"\x020018 -0.05 in\x03\x11"),
        ("+1.500", "-0.05"),
    ),
    "frame-packed-low-first": Form(
        """
wire = "frame"
[frame]
bytes = 7
start = "FF FF"
packing = "low-first"
bits_turned = true
number = { at = 5, digits = 6 }
decimals = { at = 11 }
""",
        (bytes.fromhex("ffff00482cca00"),),
        ("12.345",),
    ),
    "frame-of-text": Form(
        """
wire = "frame"
[frame]
bytes = 12
stop = "0D"
packing = "hex-text"
number = { at = 5, digits = 6, step = "0.01" }
sign = { at = 4, plus = 0, minus = 8 }
""",
        (b"0000001234F\r", b"00008001234\r"),
        ("-12.34",),
    ),
    "frame-with-a-crc": Form(
        """
wire = "frame"
[frame]
bytes = 6
start = "AA"
number = { at = 2, digits = 6, kind = "signed", order = "low-byte-first", step = "0.001" }
checksum = { kind = "crc16-modbus", at = 4, first = 0, last = 3, order = "low-first" }
""",
        (bytes.fromhex("aa05000031fd"), bytes.fromhex("aaffffffffff")),
        ("0.005",),
    ),
    "ask-by-channel": Form(
        """
wire = "ask"
[ask]
channels = { A = "A?", B = "B?" }
[frame]
bytes = 4
start = "02"
stop = "03"
number = { at = 2, digits = 4 }
""",
        (bytes.fromhex("02123403"),),
        ("1234",),
    ),
    "modbus-words-turned": Form(
        """
wire = "modbus"
[modbus]
channels = { A = 3, B = 4 }
type = "uint16"
order = "BADC"
codes = { FFFF = "error" }
""",
        (bytes.fromhex("0103043930fffff710"),),
        ("12345", ""),
    ),
    "modbus-float-over-tcp": Form(
        """
wire = "modbus"
[modbus]
framing = "tcp"
address = 1
type = "float32"
order = "DCBA"
""",
        (bytes.fromhex("0001000000070103040000c03f"),),
        ("1.500000",),
    ),
    "typed-with-a-comma": Form(
        """
wire = "typed"
[typed]
decimal = ","
decimals = 2
prefix = "@"
""",
        (b"@1,50\n", b"@-0,25\t"),
        ("1.50", "-0.25"),
    ),
}
