"""Profiles: the shipped ones are good, a bad one is answered with a sentence."""

from typing import get_args

import pytest

from drivers.link import PortSettings
from drivers.profile import (
    CANONICAL,
    Profile,
    ProfileError,
    SourceUnit,
    line_of_key,
    load_profile,
    parse_profile,
    shipped_profiles,
)
from drivers.wires.registry import WIRES

GOOD = 'about = "invented"\nwire = "line"\nunit = "mm"\n'


@pytest.mark.parametrize("name", shipped_profiles())
def test_shipped_profiles_load(name):
    profile = load_profile(name)
    assert profile.name == name
    assert profile.about.endswith(".")
    PortSettings(**profile.serial.model_dump())


def test_profiles_know_exactly_the_registered_wires_and_every_unit_has_a_factor():
    assert set(get_args(Profile.model_fields["wire"].annotation)) == set(WIRES)
    assert set(CANONICAL) == set(SourceUnit)


def test_a_profile_of_ones_own_is_read_by_its_path(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text(GOOD + "[serial]\nbaud = 4800\n", "utf-8")
    profile = load_profile(str(path))
    assert (profile.name, profile.serial.baud) == ("mine", 4800)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (GOOD + "[serial]\nbuad = 9600", ["x.toml, line 5", "serial.buad", "allowed are baud"]),
        (GOOD + '[serial]\nbaud = "fast"', ["line 5", "serial.baud is 'fast'", "integer"]),
        (GOOD + "[serial]\nparity = 'N'", ["line 5", "'none', 'even', 'odd'"]),
        (GOOD + "colour = 'red'", ["line 4", "colour", "wire"]),
        (GOOD.replace('"mm"', '"furlong"'), ["line 3", "furlong", "'mm', 'um', 'in'"]),
        (GOOD.replace('"line"', '"telepathy"'), ["line 2", "'line', 'ask', 'frame'"]),
        ('wire = "line"\nunit = "mm"', ["about is missing"]),
        (GOOD + '[line]\nunit_words = { mil = "mils" }', ["line 5", "unit_words.mil", "mils"]),
        (GOOD + '[line]\nstatus_words = { OK = "ok" }', ["line 4", "cannot mean"]),
        (GOOD + '[line]\nchannels = ["1", "2"]', ["line 4", "after_channel"]),
        (GOOD + '[line]\nafter_channel = ":"', ["line 4", "use prefix"]),
        (GOOD + '[line]\nunit_words = { 5mm = "mm" }', ["line 4", "begin like a number"]),
        (GOOD + '[ask]\nrequest = "?"', ["[ask] belongs to"]),
        (GOOD.replace('"line"', '"ask"'), ["needs the table [ask]"]),
        (GOOD.replace('"line"', '"frame"'), ["needs the table [frame]"]),
        (GOOD + "[serial\n", ["x.toml is not TOML", "line 4"]),
        (GOOD.replace('"mm"', '"mm'), ["line 3", "quotation mark"]),
        (GOOD + 'unit = "in"\n', ["line 4", "only once"]),
        (GOOD.replace('unit = "mm"', ""), ["unit is missing", "one of mm, um, in"]),
        (GOOD.replace('"line"', '"ask"'), ["line 2", "needs the table"]),
        (GOOD + "[serial]\nparity = 'N'\nbaud = 1", ["serial.baud", "Faults after this one: 1"]),
    ],
)
def test_a_bad_profile_is_a_sentence_with_file_line_key_and_what_is_allowed(text, words):
    with pytest.raises(ProfileError) as caught:
        parse_profile(text, "x", "x.toml")
    sentence = str(caught.value)
    assert sentence.endswith(".")
    assert "\n" not in sentence
    for word in words:
        assert word in sentence


def test_an_unknown_name_lists_the_shipped_ones():
    with pytest.raises(ProfileError, match=r"plain-lin' is not known: shipped are .*plain-line,"):
        load_profile("plain-lin")


def test_files_that_are_no_profiles(tmp_path):
    with pytest.raises(ProfileError, match="cannot be read: No such file"):
        load_profile(str(tmp_path / "missing.toml"))
    marked = tmp_path / "marked.toml"
    marked.write_bytes(b"\xef\xbb\xbf" + GOOD.encode())
    assert load_profile(str(marked)).unit is SourceUnit.MM
    binary = tmp_path / "binary.toml"
    binary.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(ProfileError, match="not UTF-8"):
        load_profile(str(binary))
    big = tmp_path / "big.toml"
    big.write_bytes(b"#" * 70_000)
    with pytest.raises(ProfileError, match="larger than"):
        load_profile(str(big))


def test_the_line_of_a_key():
    text = 'a = 1\n[t]\nb = 2\n["t"."u"]\nc = 3\n'
    assert line_of_key(text, ["a"]) == 1
    assert line_of_key(text, ["t", "b"]) == 3
    assert line_of_key(text, ["t", "u", "c"]) == 5
    assert line_of_key(text, ["t", "u", "missing"]) == 4
    assert line_of_key(text, ["nowhere"]) is None


FRAME = 'about = "invented"\nwire = "frame"\nunit = "mm"\n[frame]\nbytes = 4\n'
NUMBER = "[frame.number]\nat = 2\ndigits = 4\n"
MODBUS = 'about = "invented"\nwire = "modbus"\nunit = "mm"\n[modbus]\n'


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (FRAME + NUMBER, ["line 4", "where a frame begins"]),
        (FRAME + 'start = "5"\n' + NUMBER, ["line 6", "bytes in hexadecimal"]),
        (FRAME + 'start = "AA 55 AA 55 AA"\n' + NUMBER, ["longer than the frame"]),
        (FRAME + 'start = "AA"\n' + NUMBER.replace("2", "5"), ["ends behind", "8 digits"]),
        (FRAME + 'start = "AA"\npacking = "hex-text"\n' + NUMBER, ["ends behind", "4 digits"]),
        (FRAME + 'start = "AA"\n' + NUMBER + 'step = "0.12345678"', ["six decimals"]),
        (FRAME + 'start = "AA"\n' + NUMBER + 'step = "x"', ["line 10", "above 0"]),
        (FRAME + 'start = "AA"\n' + NUMBER + 'codes = { G = "error" }', ["hexadecimal digits"]),
        (FRAME + 'start = "AA"\n' + NUMBER + 'codes = { F = "ok" }', ["line 10", "over-range"]),
        (FRAME + 'start = "AA"\n' + NUMBER + "mask = 0", ["leaves no bit"]),
        (
            FRAME + 'start = "AA"\n' + NUMBER + '[frame.checksum]\nkind="sum9"\nat=3\nlast=2',
            ["line 11", "'sum8', 'sum8-inverted'"],
        ),
        (
            FRAME + NUMBER + '[frame.checksum]\nkind="crc16-arc"\nat=3\nlast=2',
            ["[frame.checksum] ends behind"],
        ),
        (
            FRAME + NUMBER + '[frame.checksum]\nkind="sum8"\nat=2\nlast=3',
            ["inside what it sums up"],
        ),
        (MODBUS, ["channels is missing"]),
        (MODBUS + "address = 1\nchannels = { A = 1 }", ["not both"]),
        (MODBUS + "channels = { A = 1, B = 200 }", ["too far apart"]),
        (MODBUS + "address = 65536", ["from 0 to 65535"]),
        (MODBUS + "address = 1\ncodes = { 7F = 'error' }", ["4 hexadecimal digits"]),
        (MODBUS + "address = 1\norder = 'ACBD'", ["'ABCD', 'CDAB'"]),
    ],
)
def test_a_bad_binary_profile_is_a_sentence_too(text, words):
    with pytest.raises(ProfileError) as caught:
        parse_profile(text, "x", "x.toml")
    sentence = str(caught.value)
    assert sentence.endswith(".")
    assert "\n" not in sentence
    for word in words:
        assert word in sentence


def test_a_request_for_each_channel_or_one_but_not_neither():
    asked = GOOD.replace('"line"', '"ask"') + "[ask]\n"
    with pytest.raises(ProfileError, match="give request, or channels"):
        parse_profile(asked, "x", "x.toml")
    with pytest.raises(ProfileError, match="give request, or channels"):
        parse_profile(asked + 'request = "?"\nchannels = { A = "A?" }', "x", "x.toml")
    assert parse_profile(asked + 'channels = { A = "A?" }', "x", "x.toml").asked.period_s == 0.1
