"""The `line` wire: one number a line of ASCII text, ended by CR, LF or both.

A line is taken only when it matches the described form exactly, from its first to its last
character. There is no checksum on such a line, so whatever differs is refused rather than guessed.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Self

from drivers.reading import State
from drivers.wires.base import (
    DECIMALS_MAX,
    LAST_REJECTED_BYTES,
    WHOLE_DIGITS_MAX,
    Answer,
    Heard,
    together,
)
from drivers.wires.counting import Counting

# A line is at most: seven gaps of 8, prefix, channel, separator and word of 16 each, a sign and a
# number of 15: 136. Nothing longer can match, so nothing longer has to be kept.
LINE_LIMIT_BYTES = 160
_GAP = r"[ \t]{0,8}"


@dataclass(frozen=True, slots=True)
class LineForm:
    """How a line looks: optional words around one number, blanks allowed between them.

    prefix: a text before every number. channels: the words that may name a channel, after the
    prefix. after_channel: a text between channel and number. decimal: "." or ",". decimals: so
    many digits after it, None for any number up to six. chars: a line is exactly so long without
    its end, None for any. unit_words: unit words that may follow the number.
    status_words: words that stand in place of a number.
    """

    prefix: str = ""
    channels: tuple[str, ...] = ()
    after_channel: str = ""
    decimal: str = "."
    decimals: int | None = None
    chars: int | None = None
    unit_words: tuple[str, ...] = ()
    status_words: Mapping[str, State] = field(default_factory=dict)


class Line(Counting):
    """See the module; keeps the contract of `drivers.wires.base.Wire`."""

    def __init__(self, form: LineForm) -> None:
        super().__init__(LINE_LIMIT_BYTES)
        self._form = form
        self._any_line = _pattern(form)
        # A gauge says the same words in every line, so a whole chunk is tried at once against the
        # words of the last line; only a chunk in which anything differs is read line by line.
        self._same_lines = {
            unit: _same_lines_pattern(form, unit) for unit in ("", *form.unit_words)
        }
        # Not where lines differ by their channel, or where an error code may look like a number.
        self._may_be_same = not form.channels and not any(
            re.match(r"[0-9+\-]", word) for word in form.status_words
        )
        self._unit = ""
        self._held = ""
        self._last_understood = True

    @classmethod
    def described(cls, tables: Mapping[str, Mapping[str, Any]]) -> Self:
        """Build from the profile's table `line`."""
        return cls(LineForm(**tables["line"]))

    @property
    def answer(self) -> Answer:
        """What stands at the end of the bytes fed so far."""
        if self._held or self._rejecting or self._torn:
            return Answer.NEED_MORE
        return Answer.DONE if self._last_understood else Answer.NOT_MINE

    def restart(self, *, torn: bool) -> None:
        """Forget a begun line; when torn, everything up to the next line end is skipped."""
        self.skipped_bytes += len(self._held)
        self._held = ""
        self._rejecting = False
        self._torn = torn

    def feed(self, data: bytes) -> list[Heard]:
        """Take more bytes; give the numbers of the lines they complete, in order."""
        # CR LF becomes two line ends; the empty line between them means nothing and is dropped.
        # That way a cut between CR and LF needs no memory.
        text = self._held + data.decode("latin-1").replace("\r\n", "\n").replace("\r", "\n")
        if self._torn or self._rejecting:
            text = self._drop_to_line_end(text)
        cut = text.rfind("\n") + 1
        body, self._held = text[:cut].lstrip("\n"), text[cut:]
        heard = self._read(body) if body else []
        if len(self._held) > LINE_LIMIT_BYTES:
            self._lost(self._held, ended=False)
            self._held = ""
        return heard

    def _drop_to_line_end(self, text: str) -> str:
        dropped, end, rest = text.partition("\n")
        self._lost(dropped, ended=bool(end))
        if end:
            self._rejecting = self._torn = False
        return rest

    def _read(self, body: str) -> list[Heard]:
        same = self._same_lines[self._unit]
        if self._may_be_same:
            numbers: list[str] = same.findall(body)
            # Every match takes exactly one line end, so equal counts mean: all lines matched.
            if len(numbers) == body.count("\n"):
                self._last_understood = True
                if self._form.decimal == ",":
                    numbers = "\n".join(numbers).replace(",", ".").split("\n")
                return [Heard(numbers, self._unit)]
        heard: list[Heard] = []
        for line in body[:-1].split("\n"):
            if line:
                self._read_line(line, heard)
        return heard

    def _read_line(self, line: str, heard: list[Heard]) -> None:
        match = self._any_line.fullmatch(line)
        self._last_understood = match is not None
        if match is None:
            self._lost(line, ended=True)
            self._rejecting = False
            return
        channel, sign, digits, unit, status = match.group("channel", "sign", "digits", "unit", "st")
        state = self._form.status_words[status] if status else State.OK
        number = "" if status else sign + digits.replace(",", ".")
        words = (unit or "", channel or "", state)
        self._unit = self._unit if status else words[0]
        together(heard, number, *words, False)

    def _lost(self, text: str, *, ended: bool) -> None:
        """Count a line that is not understood, or a piece of one too long to be kept."""
        self._lose(text.encode("latin-1"))
        if self._torn:
            return
        self._last_understood = False
        if ended:
            self.last_rejected = (self.last_rejected + b"\n")[-LAST_REJECTED_BYTES:]


def _number(form: LineForm) -> str:
    point = re.escape(form.decimal)
    whole = rf"[0-9]{{1,{WHOLE_DIGITS_MAX}}}"
    if form.decimals is None:
        return rf"{whole}(?:{point}[0-9]{{1,{DECIMALS_MAX}}})?"
    return whole if form.decimals == 0 else rf"{whole}{point}[0-9]{{{form.decimals}}}"


def _length(form: LineForm) -> str:
    return "" if form.chars is None else rf"(?=[^\n]{{{form.chars}}}$)"


def _pattern(form: LineForm) -> re.Pattern[str]:
    """Any single line of this form, without its end."""
    channel = _one_of("channel", form.channels)
    before = f"{re.escape(form.prefix)}{_GAP}{channel}{_GAP}{re.escape(form.after_channel)}"
    number = (
        f"(?P<sign>[+-]?){_GAP}(?P<digits>{_number(form)}){_GAP}{_one_of('unit', form.unit_words)}?"
    )
    status = _one_of("st", tuple(form.status_words))
    return re.compile(f"{_length(form)}{_GAP}{before}{_GAP}(?:{status}|{number}){_GAP}")


def _one_of(name: str, words: tuple[str, ...]) -> str:
    # No word at all must never match, not even as an empty one, except as a channel.
    if not words:
        return f"(?P<{name}>)" if name == "channel" else f"(?P<{name}>(?!))"
    longest_first = sorted(words, key=len, reverse=True)
    return f"(?P<{name}>{'|'.join(map(re.escape, longest_first))})"


def _same_lines_pattern(form: LineForm, unit: str) -> re.Pattern[str]:
    """A run of whole lines that all end in `unit`, without channel, sign next to the digits."""
    return re.compile(
        rf"^{_length(form)}{_GAP}{re.escape(form.prefix)}{_GAP}"
        rf"([+-]?{_number(form)}){_GAP}{re.escape(unit)}{_GAP}\n",
        re.MULTILINE,
    )
