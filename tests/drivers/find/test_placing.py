"""The parts of placing: splitting, tokens, checksums, parity, movement, TOML; and any bytes."""

import tomllib
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drivers.find.placing.checks import check_of
from drivers.find.placing.moved import moved
from drivers.find.placing.parity import without_parity
from drivers.find.placing.place import placed
from drivers.find.placing.series import is_clock, is_counter, is_extreme_of
from drivers.find.placing.skeleton import skeleton
from drivers.find.placing.split import Sound, splits
from drivers.find.placing.text import best_of, heard_as_text, settled
from drivers.find.placing.tokens import Kind, decimal_of, tokens_of
from drivers.find.placing.toml import toml_of
from drivers.profile import load_profile, parse_profile, shipped_profiles
from drivers.wires.checksum import CHECKSUMS
from drivers.wires.registry import WIRES

SERIAL = {"baud": 9600, "bytesize": 8, "parity": "none", "stop_bits": 1}
SHIPPED = [load_profile(name) for name in shipped_profiles()]


def lines(*texts: str) -> Sound:
    return Sound("".join(f"{text}\r\n" for text in texts).encode("latin-1"))


def values(sound: Sound) -> list[float]:
    found = placed(sound, SERIAL, SHIPPED)
    return [said.value for said in found.proposals[0].said] if found.proposals else []


def numbers(*texts: str) -> list[Decimal]:
    return [Decimal(text) for text in texts]


def test_a_line_is_cut_into_what_a_person_sees():
    kinds = [t.kind for t in tokens_of("2031-04-05 10:11:12.5 SN47 A3F +1.234 mm*5", ".")]
    seen = [kind for kind in kinds if kind is not Kind.GAP]
    assert seen == [
        *(Kind.DATE, Kind.TIME, Kind.WORD, Kind.NUMBER, Kind.HEX, Kind.NUMBER, Kind.WORD),
        *(Kind.MARK, Kind.NUMBER),
    ]
    assert [t.text for t in tokens_of("-  1.5 2.5-", ".")] == ["-  1.5", " ", "2.5-"]
    assert "".join(t.text for t in tokens_of('x"1,5;\t-.5', ",")) == 'x"1,5;\t-.5'


def test_a_comma_is_for_decimals_only_where_it_does_not_separate():
    assert decimal_of(["A 1,234 mm", "A 1,235 mm"]) == ","
    assert decimal_of(["17,1.234,mm"]) == "."
    assert decimal_of(["1,234,567"]) == "."
    assert decimal_of(["+1.234,87%"]) == "."
    assert decimal_of(["05.04.31;10:11:12;1,234"]) == ","


def test_counters_clocks_and_extremes_are_told_from_a_spindle():
    assert is_counter(numbers("7", "8", "9", "10", "1", "2", "3", "4"))
    assert is_counter(numbers("5", "5", "5", "6", "6", "6"))
    assert not is_counter(numbers("5", "9", "4", "6", "1", "2"))
    assert is_clock(numbers("0.1", "0.2", "0.31", "0.4", "0.5", "0.61"))
    assert not is_clock(numbers("0.1", "0.2", "0.9", "0.91", "0.92", "2.0"))
    live = numbers("1.0", "1.5", "1.2", "1.7", "0.3")
    assert is_extreme_of(numbers("1.0", "1.5", "1.5", "1.7", "1.7"), live)
    assert not is_extreme_of(live, numbers("1.0", "1.5", "1.5", "1.7", "1.7")[::-1])


@pytest.mark.parametrize("kind", sorted(CHECKSUMS))
def test_every_kind_of_checksum_is_found(kind):
    texts = [f"N+0{i}.{i * 37 % 1000:03d}" for i in range(12)]
    check = check_of([f"{t}*{CHECKSUMS[kind](t.encode()).hex().upper()}" for t in texts])
    assert check is not None
    assert (check.kind, check.first, check.between, check.in_hex) == (kind, 0, 1, True)
    assert check_of([f"{t}*{i * 53 % 256:02X}" for i, t in enumerate(texts)]) is None


def test_a_parity_bit_is_seen_and_taken_off():
    text = b"+001.234\r\n-000.512\r\n+7.5\r\n"
    even = bytes(b | 0x80 * (b.bit_count() & 1) for b in text)
    odd = bytes(b | 0x80 * (1 - (b.bit_count() & 1)) for b in text)
    assert without_parity(even) == (text, "even")
    assert without_parity(odd) == (text, "odd")
    assert without_parity(bytes(b | 0x80 for b in text)) == (text, "mark")
    assert without_parity(text) is None
    assert without_parity(bytes(range(128, 160))) == (bytes(range(32)), "mark")


def test_the_first_message_counts_only_when_it_was_quiet_before():
    data = b"34 mm\r\n1.235 mm\r\n1.236 mm\r\n"
    assert next(splits(Sound(data))).messages[0] == "34 mm"
    assert next(splits(Sound(data, whole_start=False))).messages == ["1.235 mm", "1.236 mm"]


def test_messages_without_an_end_are_not_cut_where_nobody_knows():
    data = b"234+001.235-001.236+001.237-001.238+001.239-001.240"
    assert list(splits(Sound(data, (0,), whole_start=False))) == []
    starts = (0, 3, 11, 19, 27, 35, 43)
    messages = next(splits(Sound(data, starts, whole_start=False))).messages
    assert messages[:2] == ["+001.235", "-001.236"]


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("{:.1f} \xc2\xb5m", 0.001),
        ("{:.1f} \xb5m", 0.001),
        ("{:.3f} Millimetres", 1),
        ("{:+.6E}", 1),
        ("{:+.3f} <", 1),
    ],
)
def test_units_and_marks_that_people_know(text, mm):
    said = [1.234, 1.3, 2.125, -0.5, 3.25]
    assert values(lines(*(text.format(v / mm) for v in said))) == said


def test_a_tolerance_mark_that_was_not_heard_yet_is_read_as_well():
    found = placed(lines("+1.234 =", "+1.300 =", "+2.125 ="), SERIAL, SHIPPED).proposals[0]
    assert found.toml
    wire = WIRES["picture"].described(parse_profile(found.toml, "x", "x.toml").model_dump())
    assert [run.numbers for run in wire.feed(b"+7.500 >\r\n")] == [["+7.500"]]


def test_what_a_profile_does_not_read_back_is_not_proposed():
    # A sign behind the number, and nothing that ends it: no profile can say that.
    texts = [f"00{i * 7 % 5}.{i * 131 % 1000:03d}{'+-'[i % 2]}" for i in range(20)]
    starts = tuple(8 * i for i in range(20))
    assert placed(Sound("".join(texts).encode(), starts), SERIAL, SHIPPED).proposals == ()


@pytest.mark.parametrize(
    "frame",
    [
        "7e 00 {} 10 03",  # 16 behind the digits may be their minus
        "7e 0b 00 {} 00 03",  # and so may be 11 before them
        "7e 00 {} 82",  # and the 8 beside the two decimals
    ],
)
def test_a_byte_beside_the_digits_that_may_be_their_sign_leaves_it_in_doubt(frame):
    rows = [
        bytes.fromhex(frame.format(f"{i * 37 % 90 + 10} {i * 53 % 100:02d}")) for i in range(12)
    ]
    rows = [row + CHECKSUMS["sum8"](row) for row in rows]
    starts = tuple(len(rows[0]) * i for i in range(12))
    found = placed(Sound(b"".join(rows), starts), SERIAL, SHIPPED)
    assert found.proposals == ()


def test_a_long_checksum_may_come_with_its_lowest_byte_first():
    rows = [
        bytes.fromhex(f"55 aa 00 00 {i * 37 % 90 + 10:02x} {i * 53 % 256:02x} 03 00")
        for i in range(12)
    ]
    rows = [row + CHECKSUMS["crc16-modbus"](row)[::-1] for row in rows]
    check = check_of([row.decode("latin-1") for row in rows], (), low_first=True)
    assert check is not None
    assert (check.kind, check.low_first) == ("crc16-modbus", True)


@pytest.mark.parametrize(
    ("texts", "why"),
    [
        (["1.234 2.345", "1.334 2.245", "1.432 2.344", "1.555 2.111"], "may be the measured one"),
        (["0.0485", "0.0512", "0.0533", "0.0541"], "may be millimetres or inches"),
        (["00017", "00031", "00022", "00064"], "nobody says what one is worth"),
        (["21.5 C", "21.6 C", "21.7 C", "21.8 C"], "a number in C"),
        (["+1.234 mmHg", "+1.334 mmHg", "+1.111 mmHg"], "no unit that is known"),
        (["+0.123 I", "+0.234 I", "+0.345 I"], "may mean inches"),
        (["+1234.5", "+1236.5", "+1311.0"], "the unit is not said"),
        (["+12.5", "+12.6", "+13.0"], "the unit is not said"),
        (["hello", "hello", "hello", "hello"], "no number"),
        (["MAX 1.234 mm", "MAX 1.235 mm", "MAX 1.236 mm"], "a number called MAX"),
    ],
)
def test_in_doubt_nothing_is_placed_and_it_says_why(texts, why):
    found = placed(lines(*texts), SERIAL, SHIPPED)
    assert found.proposals == ()
    assert why in found.why


def test_a_code_that_changes_makes_no_number():
    texts = [f"00 +0{i % 7}.{i * 131 % 1000:03d}" for i in range(12)]
    assert len(values(lines(*texts))) == 12
    assert len(values(lines(*texts[:9], "04 +009.999", *texts[9:]))) == 12


def test_a_code_that_comes_now_and_then_is_no_channel():
    texts = [f"E0,+0{i % 3}.{i * 131 % 1000:03d}" for i in range(20)]
    sound = lines(*texts[:8], "E7,+88.000", "E7,+88.000", *texts[8:])
    assert len(values(sound)) == 20
    assert max(values(sound)) < 3


def test_the_number_that_follows_the_spindle_settles_the_doubt():
    rest = lines(*(f"{12.5 + i % 2 / 1000:.3f} 3.21{i % 3}" for i in range(12)))
    hand = [3.21, 3.4, 3.9, 4.7, 4.6, 4.1, 3.2, 2.1, 2.0, 2.2, 2.9, 3.3]
    moving = lines(*(f"{12.5 + i % 2 / 1000:.3f} {mm:.3f}" for i, mm in enumerate(hand)))
    heard = best_of(list(heard_as_text(rest)))
    assert heard is not None
    assert heard.found is None
    which = moved(heard, moving)
    assert which is not None
    assert which[1].column.texts[0] == "3.210"
    found = settled(heard, which[0], [which[1]]).found
    assert found is not None
    assert found.table["line"] == "{other} {number}"
    both = lines(*(f"{0.9 * mm:.3f} {mm:.3f}" for mm in hand))
    assert moved(heard, both) is None
    assert moved(heard, rest) is None


def test_a_profile_made_is_a_profile_whatever_stands_in_it():
    table = {"line": 'a"b\\c\x02{{{number}\x7f\xb5', "status_words": {'E"1': "error"}, "chars": 12}
    text = toml_of({"about": "x", "wire": "picture", "unit": "mm", "picture": table}, "made\nhere")
    assert tomllib.loads(text)["picture"] == table
    assert parse_profile(text, "x", "x.toml").picture is not None


@pytest.mark.parametrize("data", [b"abc 12 1.5 7\r\n" * 9, b"\x80\x01\xff" * 9, b"?"])
def test_a_skeleton_is_toml_with_a_place_to_fill_in(data):
    sound = Sound(data, tuple(range(0, len(data), 3)))
    heard = best_of(list(heard_as_text(sound)))
    told = tomllib.loads(skeleton(sound, heard if b"abc" in data else None, SERIAL))
    assert told["wire"] in ("picture", "frame")
    assert told["serial"] == SERIAL


@settings(deadline=None, max_examples=60)
@given(
    data=st.one_of(
        st.binary(max_size=200),
        st.lists(
            st.sampled_from([b"1.234", b"+", b"mm", b" ", b"\r\n", b"\x02", b"\x03", b",", b"7F"]),
            max_size=60,
        ).map(b"".join),
    ),
    whole=st.booleans(),
    step=st.integers(1, 40),
)
def test_any_bytes_never_raise(data, whole, step):
    sound = Sound(data, tuple(range(0, len(data), step)), whole)
    found = placed(sound, SERIAL, SHIPPED)
    assert found.proposals or found.why
