"""What the line wire takes for a number, and what it never does."""

import pytest

from drivers.reading import State
from drivers.wires.base import Answer, Heard
from drivers.wires.line import Line, LineForm


def said(data: bytes, form: LineForm | None = None) -> list[Heard]:
    return Line(form or LineForm()).feed(data)


@pytest.mark.parametrize("end", [b"\r", b"\n", b"\r\n"])
def test_each_line_end(end):
    assert said(b"+1.5" + end + b"-2" + end) == [Heard(["+1.5", "-2"])]


@pytest.mark.parametrize(
    "line",
    [
        b"nan",
        b"NaN",
        b"inf",
        b"-Infinity",
        b"1e3",
        b"1.5E-2",
        b"0x10",
        b"1_000",
        b"1,234.5",
        b"12,345",
        b"1 234",
        b"1.2.3",
        b"--1",
        b"+-1",
        b"1-",
        b".5",
        b"5.",
        b"+",
        b"",
        b"   ",
        b"1.2345678",
        b"123456789",
        b"9" * 1000,
        b"1.5 furlong",
        b"1.5mm",
        "\u0661\u0662".encode(),
        "\u00b2".encode("latin-1"),
        b"\x001.5",
        b"1.5\x00",
    ],
)
def test_what_is_no_number_is_refused(line):
    wire = Line(LineForm())
    assert wire.feed(line + b"\r\n") == []
    assert wire.rejected_bytes == len(line)
    # The same line among good ones does not spoil them.
    assert wire.feed(b"1.5\r\n" + line + b"\r\n2.5\r\n") == [Heard(["1.5", "2.5"])]


def test_a_decimal_comma_is_read_only_where_it_is_described():
    comma = LineForm(decimal=",")
    assert said(b"1,5\n-2,25\n3\n", comma) == [Heard(["1.5", "-2.25", "3"])]
    assert said(b"1.5\n", comma) == []
    assert said(b"1,5\n2.5\n+ 3,5\n", comma) == [Heard(["1.5", "+3.5"])]


def test_blanks_and_a_separate_sign_are_no_matter():
    assert said(b"  + 1.5\t\r\n 1.5  \r\n") == [Heard(["+1.5", "1.5"])]


def test_a_gauge_that_switches_its_unit_is_followed_line_by_line():
    form = LineForm(unit_words=("mm", "in"))
    wire = Line(form)
    assert wire.feed(b"1.0 mm\n2.0 mm\n0.1 in\n0.2in\n3\n") == [
        Heard(["1.0", "2.0"], "mm"),
        Heard(["0.1", "0.2"], "in"),
        Heard(["3"], ""),
    ]
    assert wire.feed(b"0.1 in\n0.2 in\n") == [Heard(["0.1", "0.2"], "in")]


def test_a_longer_unit_word_is_not_cut_to_a_shorter_one():
    form = LineForm(unit_words=("m", "mm"))
    assert said(b"1 mm\n1 m\n1 mmm\n", form) == [Heard(["1"], "mm"), Heard(["1"], "m")]


def test_exact_decimals_and_length_refuse_a_line_that_lost_characters():
    form = LineForm(decimals=3, chars=8)
    wire = Line(form)
    assert wire.feed(b"+001.234\r\n+01.234\r\n+001.23\r\n-000.500\r\n") == [
        Heard(["+001.234", "-000.500"])
    ]
    assert wire.feed(b"+01.234\r\n") == []
    assert wire.rejected_messages == 3
    assert said(b"12\n1.0\n", LineForm(decimals=0)) == [Heard(["12"])]


def test_prefix_and_channel():
    form = LineForm(prefix="N:", channels=("1", "12"), after_channel="=")
    assert said(b"N:1=+0.5\nN:12= 0.6\nN:3=1\n1=2\n", form) == [
        Heard(["+0.5"], "", "1"),
        Heard(["0.6"], "", "12"),
    ]
    assert said(b"N:+0.5\nN: 0.6\n0.7\n", LineForm(prefix="N:")) == [Heard(["+0.5", "0.6"])]


def test_a_status_word_is_a_state_and_never_a_number():
    form = LineForm(status_words={"9999.999": State.OVER_RANGE, "LOW": State.LOW_BATTERY})
    wire = Line(form)
    assert wire.feed(b"1.0\nLOW\n2.0\n") == [
        Heard(["1.0"]),
        Heard([""], state=State.LOW_BATTERY),
        Heard(["2.0"]),
    ]


def test_a_status_word_that_looks_like_a_number_stays_a_status():
    form = LineForm(status_words={"9999.999": State.OVER_RANGE})
    assert said(b"9999.999\n", form) == [Heard([""], state=State.OVER_RANGE)]


def test_the_last_rejected_bytes_are_kept_for_display():
    wire = Line(LineForm())
    wire.feed(b"hello\r\n1.5\r\nworld\r\n")
    assert wire.last_rejected == b"hello\nworld\n"
    assert wire.answer is Answer.NOT_MINE


def test_after_reopening_half_a_line_is_no_number():
    wire = Line(LineForm())
    wire.feed(b"+1")
    wire.restart(torn=True)
    assert wire.feed(b"2.345\r\n+1.000\r\n") == [Heard(["+1.000"])]
    assert wire.skipped_bytes == len(b"+1") + len(b"2.345")
