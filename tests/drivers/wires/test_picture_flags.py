"""Flags beside a number, the data key, and the numbers that mean there is none."""

import pytest

from drivers.profile import ProfileError, parse_profile
from drivers.reading import State
from drivers.wires.base import Heard
from drivers.wires.picture import Picture

HEAD = 'about = "invented"\nwire = "picture"\nunit = "mm"\n[picture]\n'


def picture(text: str) -> Picture:
    return Picture.described(parse_profile(HEAD + text, "x", "x.toml").model_dump())


FLAGGED = """
line = "{flag}{number:A},{number:B}{key:!}"
flag_words = { H = "ok", B = "low-battery" }
status_words = { OVER = "over-range" }
"""


def test_a_flag_beside_the_numbers_and_the_data_key():
    said = picture(FLAGGED).feed(b"H+1.5,2.5\r\n 1.5,OVER!\r\nB1.5,OVER\r\nX1.5,2.5\r\n")
    assert said == [
        Heard(["+1.5"], "", "A"),
        Heard(["2.5"], "", "B"),
        Heard(["1.5"], "", "A", commit=True),
        Heard([""], "", "B", State.OVER_RANGE, commit=True),
        Heard([""], "", "A", State.LOW_BATTERY),
        Heard([""], "", "B", State.LOW_BATTERY),
    ]


def test_what_instruments_with_scpi_commands_say_where_there_is_no_number():
    wire = picture('line = "{number}"')
    said = wire.feed(b"+1.25000E-01\n+9.90000E+37\n-9.9E37\n+9.910000E+37\n+9.0E37\n")
    assert said == [
        Heard(["+0.125"]),
        Heard(["", ""], state=State.OVER_RANGE),
        Heard([""], state=State.ERROR),
    ]
    assert wire.rejected_messages == 1


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('line = "{flag}{number}"', "give both or neither"),
        ('line = "{number}"\nflag_words = { B = "low-battery" }', "give both or neither"),
        ('line = "{key}{number}"', "data key adds"),
        ('line = "{key:A}{number}{key:B}"', "only once"),
    ],
)
def test_a_flag_that_is_not_described_is_a_sentence(text, words):
    with pytest.raises(ProfileError, match=words):
        picture(text)


def test_where_nothing_ends_a_line_the_next_sign_is_not_taken_for_its_own():
    wire = picture('line = "{number}"\nchars = 8\ndecimals = 3')
    wire.restart(torn=True)
    assert wire.feed(b"001.852-001.844+001.834") == [Heard(["-001.844", "+001.834"])]


def test_a_line_of_a_length_shows_where_it_begins():
    with pytest.raises(ProfileError, match="chars needs decimals, or a text"):
        picture('line = "{number}"\nchars = 8')
    assert picture('line = "N{number}"\nchars = 8').feed(b"N001.852") == [Heard(["001.852"])]
