"""The table of a profile for lines on which other things stand beside the number: `picture`.

A picture is the line as it comes, with a placeholder in braces for everything that changes:
`{digits:4} {number} {unit}*{check:xor8}`. A blank stands for one blank or more, `{{` for a brace.
"""

import re
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, model_validator

from drivers.profile.binary import CHECKSUM_BYTES
from drivers.profile.tables import Table, Word
from drivers.profile.units import SourceUnit
from drivers.reading import State

PARTS_MAX = 48
PICTURE_CHARS_MAX = 400
CHARS_MAX = 160  # the longest line that the wire keeps
COUNT_MAX = 32
LETTERS = "number", "unit", "channel", "digits", "hex", "other", "word", "any", "from", "to"
FLAGS = "flag", "key"
PLACEHOLDERS = (*LETTERS, *FLAGS, "check", "raw-check")
NEEDS_COUNT = "hex", "any"

_PIECE = re.compile(r"\{\{|\}\}|\{([^{}]*)\}|( +)|([^{} ]+)|([{}])")

Part = tuple[str, str]
"""What stands at a place of the line: `text` with the text itself, `gap` for blanks, or a
placeholder with what follows its colon."""


def parts_of(picture: object) -> tuple[Part, ...]:
    """Cut a picture into its parts. Raises ValueError with what is wrong and what is allowed."""
    if not isinstance(picture, str) or len(picture) > PICTURE_CHARS_MAX:
        raise ValueError(f"has to be a text of at most {PICTURE_CHARS_MAX} characters")
    parts: list[Part] = []
    for piece in _PIECE.finditer(picture):
        inside, gap, text, stray = piece.groups()
        if stray:
            raise ValueError(
                f"the brace at character {piece.start() + 1} stands alone: close the placeholder, "
                "or double a brace that is meant as one"
            )
        if inside is not None:
            parts.append(_placeholder(inside))
        elif gap:
            parts.append(("gap", ""))
        elif parts and parts[-1][0] == "text":
            parts[-1] = ("text", parts[-1][1] + (text or piece[0][0]))
        else:
            parts.append(("text", text or piece[0][0]))
    _check(parts)
    return tuple(parts)


def _placeholder(inside: str) -> Part:
    name, _, argument = inside.partition(":")
    if name not in PLACEHOLDERS:
        raise ValueError(f"{{{inside}}} is no placeholder; there are {', '.join(PLACEHOLDERS)}")
    if name in ("check", "raw-check"):
        if argument not in CHECKSUM_BYTES:
            raise ValueError(
                f"{{{inside}}} names no checksum; there are {', '.join(CHECKSUM_BYTES)}"
            )
    elif name in ("digits", "hex", "any") and (argument or name in NEEDS_COUNT):
        if not (argument.isascii() and argument.isdigit() and 1 <= int(argument) <= COUNT_MAX):
            raise ValueError(f"{{{inside}}} needs a count from 1 to {COUNT_MAX}, like {{{name}:2}}")
    elif name == "key":
        if not re.fullmatch(r"[!-~]{1,16}", argument):
            raise ValueError(f"{{{inside}}} needs what the data key adds to a line, like {{key:D}}")
    elif name == "number" and argument:
        if not re.fullmatch(r"[!-~]{1,16}", argument):
            raise ValueError(f"{{{inside}}} needs the channel's name, at most 16 characters")
    elif argument:
        raise ValueError(f"{{{inside}}} takes nothing behind a colon")
    return name, argument


def _check(parts: list[Part]) -> None:
    """Raises ValueError for a picture that does not say which number counts, or says it twice."""
    names = [name for name, _ in parts]
    channels = [argument for name, argument in parts if name == "number"]
    if len(parts) > PARTS_MAX:
        raise ValueError(f"a picture has at most {PARTS_MAX} parts")
    if not channels:
        raise ValueError("{number} is missing: it says where the number stands")
    if len(channels) > 1 and ("" in channels or len(set(channels)) < len(channels)):
        raise ValueError("several numbers need a channel each, like {number:A} and {number:B}")
    for name in ("unit", "channel", "flag", "key", "from", "to"):
        if names.count(name) > 1:
            raise ValueError(f"{{{name}}} may stand only once")
    if "channel" in names and len(channels) > 1:
        raise ValueError("{channel} belongs to a line with one number")
    if names.count("check") + names.count("raw-check") > 1:
        raise ValueError("there may be only one checksum")


Picture = Annotated[tuple[Part, ...], BeforeValidator(parts_of)]


class PictureTable(Table):
    """A line as a picture.

    line: the picture, without the line's end unless `end` is given. decimal, decimals: as in
    [line]. end: the character a line ends with, without it CR, LF or both; the picture holds it,
    too. tail_bytes: so many bytes behind `end` still belong to the line. chars: a line is exactly
    so long and nothing ends it. flag_words: what {flag} may be, beside a number; without one of
    them the number is good.
    """

    line: Picture
    decimal: Literal[".", ","] = "."
    decimals: Annotated[int, Field(ge=0, le=6)] | None = None
    end: Annotated[str, Field(max_length=1, pattern=r"^[\x00-\xff]?$")] = ""
    tail_bytes: Annotated[int, Field(ge=0, le=4)] = 0
    chars: Annotated[int, Field(ge=2, le=CHARS_MAX)] | None = None
    channels: tuple[Word, ...] = ()
    unit_words: dict[Word, SourceUnit] = Field(default_factory=dict)
    status_words: dict[Word, State] = Field(default_factory=dict)
    flag_words: dict[Word, State] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _holds_together(self) -> "PictureTable":
        names = [name for name, _ in self.line]
        if ("channel" in names) != bool(self.channels):
            raise ValueError("channels lists the words that {channel} may be: give both or neither")
        if self.unit_words and "unit" not in names:
            raise ValueError("unit_words lists the words that {unit} may be: {unit} is missing")
        if "unit" in names and not self.unit_words:
            raise ValueError("{unit} needs unit_words, the words that it may be")
        if ("flag" in names) != bool(self.flag_words):
            raise ValueError("flag_words lists the words that {flag} may be: give both or neither")
        if self.chars is not None and (self.end or self.tail_bytes):
            raise ValueError("give chars for a line without an end, or end, not both")
        if self.chars is not None and not self.decimals and "text" not in names:
            raise ValueError(
                "chars needs decimals, or a text in the picture: else a piece of two lines looks "
                "like one"
            )
        if self.tail_bytes and not self.end:
            raise ValueError("tail_bytes counts the bytes behind end: end is missing")
        if State.OK in self.status_words.values():
            raise ValueError('a status word stands in place of a number and cannot mean "ok"')
        return self
