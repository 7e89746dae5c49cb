"""The `picture` wire: a line on which other things stand beside the number.

A date, a counter, a temperature, a checksum: each has its place in the picture, so that only the
number is taken for one. As in `line` a whole line has to fit; where the picture has a checksum it
has to be right. A line ends with CR, LF or both, or with a text of its own, or is of a fixed
length and has no end.
"""

import re
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any, Self

from drivers.reading import State
from drivers.wires.base import DECIMALS_MAX, WHOLE_DIGITS_MAX, Answer, Heard, together
from drivers.wires.checksum import CHECKSUMS
from drivers.wires.counting import Counting

LINE_LIMIT_BYTES = 200
MANTISSA_DECIMALS_MAX = 12
_GAP = r"[ \t]{0,16}"
_LINE_END = re.compile(r"[\r\n]")
_GRID = Decimal(1).scaleb(-DECIMALS_MAX)


class Picture(Counting):
    """Keeps the contract of `drivers.wires.base.Wire`.

    table: the profile's checked `picture`.
    """

    def __init__(self, table: Mapping[str, Any]) -> None:
        super().__init__(LINE_LIMIT_BYTES)
        self._end: str = table["end"]
        self._tail: int = table["tail_bytes"]
        self._chars: int | None = table["chars"]
        self._status: Mapping[str, State] = table["status_words"]
        self._flags: Mapping[str, State] = table["flag_words"]
        self._channels = [arg for name, arg in table["line"] if name == "number"]
        self._begin = _begin_of(table["line"])
        self._check = _check_of(table["line"])
        around = "" if self._chars or self._end else r"[ \t]*"
        self._line = re.compile(_pattern(table) + around, re.DOTALL)
        self._held = ""
        self._last_understood = True

    @classmethod
    def described(cls, tables: Mapping[str, Mapping[str, Any]]) -> Self:
        """Build from the profile's table `picture`."""
        return cls(tables["picture"])

    @property
    def answer(self) -> Answer:
        """What stands at the end of the bytes fed so far."""
        if self._held or self._torn or (self._rejecting and self._chars is None):
            return Answer.NEED_MORE
        return Answer.DONE if self._last_understood else Answer.NOT_MINE

    def restart(self, *, torn: bool) -> None:
        """Forget a begun line; when torn, what comes up to the next end or fit is skipped."""
        self.skipped_bytes += len(self._held)
        self._held = ""
        self._rejecting = False
        self._torn = torn

    def feed(self, data: bytes) -> list[Heard]:
        """Take more bytes; give the numbers of the lines they complete, in order."""
        self._held += data.decode("latin-1")
        heard: list[Heard] = []
        if self._chars is None:
            self._feed_ended(heard)
        else:
            self._feed_counted(self._chars, heard)
        return heard

    def _feed_ended(self, heard: list[Heard]) -> None:
        at = 0
        while (cut := self._line_at(at)) is not None:
            line, at = cut
            self._ended(line, heard)
        body, rest = self._held[at:], ""
        if self._end and (end := body.find(self._end)) >= 0:
            body, rest = body[:end], body[end:]  # an end that waits for its tail
        body = self._from_begin(body)
        if len(body) > LINE_LIMIT_BYTES or self._torn or self._rejecting:
            self._lost(body)
            body = ""
        self._held = body + rest

    def _from_begin(self, text: str) -> str:
        """What counts of a line: where one begins with a control character, from the last one."""
        if not self._begin:
            return text
        before, *lines = text.split(self._begin)
        for line in lines:
            if before:
                self._lost(before)
            self._torn = self._rejecting = False
            before = self._begin + line
        return before

    def _line_at(self, at: int) -> tuple[str, int] | None:
        """The line that begins at `at` and where the next one does, None when it is not whole."""
        if not self._end:
            found = _LINE_END.search(self._held, at)
            return None if found is None else (self._held[at : found.start()], found.end())
        end = self._held.find(self._end, at)
        after = end + 1 + self._tail
        return None if end < 0 or after > len(self._held) else (self._held[at:after], after)

    def _ended(self, line: str, heard: list[Heard]) -> None:
        line = self._from_begin(line)
        if self._torn or self._rejecting:
            self._lost(line)
            self._torn = self._rejecting = False
        elif line:
            self._last_understood = len(line) <= LINE_LIMIT_BYTES and self._read(line, heard)
            if not self._last_understood:
                self._lost(line)
                self._rejecting = False

    def _feed_counted(self, chars: int, heard: list[Heard]) -> None:
        at = 0
        while len(self._held) - at >= chars:
            self._last_understood = self._read(self._held[at : at + chars], heard)
            if self._last_understood:
                at += chars
                self._torn = self._rejecting = False
            else:
                self._lost(self._held[at])
                at += 1
        self._held = self._held[at:]

    def _lost(self, text: str) -> None:
        if not self._torn:
            self._last_understood = False
        self._lose(text.encode("latin-1"))

    def _read(self, line: str, heard: list[Heard]) -> bool:
        state = self._status.get(line.strip())
        if state is not None:
            for channel in self._channels:
                together(heard, "", "", channel, state, False)
            return True
        match = self._line.fullmatch(line)
        if match is None or (self._check is not None and not _is_right(match, self._check)):
            return False
        words = match.groupdict("")
        unit, spoken = words.get("unit", ""), words.get("channel", "")
        flagged = self._flags.get(words.get("flag", ""), State.OK)
        commit = bool(words.get("key"))
        found = []
        for index, channel in enumerate(self._channels):
            if word := words[f"status{index}"]:
                said: tuple[str | None, State] = "", self._status[word]
            else:
                said = _number(*(words[f"{part}{index}"] for part in _NUMBER_PARTS))
            if said[0] is None:
                return False
            state = said[1] if flagged is State.OK else flagged
            number = said[0] if state is State.OK else ""
            found.append((number, unit, channel or spoken, state, commit))
        for each in found:
            together(heard, *each)
        return True


_NUMBER_PARTS = "sign", "digits", "power", "back"


# The numbers that instruments with SCPI commands send where there is none, from memory: 9.9E37 and
# its negative for infinity, 9.91E37 for not a number.
_INFINITE, _NO_NUMBER = Decimal("9.9E37"), Decimal("9.91E37")


def _number(sign: str, digits: str, power: str, back: str) -> tuple[str | None, State]:
    """Plain decimal text, None for what has two signs or is too long; and what it means."""
    if sign and back:
        return None, State.OK
    digits = digits.replace(",", ".")
    digits = f"0{digits}" if digits.startswith(".") else digits
    if power:
        value = Decimal(digits).scaleb(int(power[1:]))
        if value >= 10**WHOLE_DIGITS_MAX:
            codes = {_INFINITE: State.OVER_RANGE, _NO_NUMBER: State.ERROR}
            return ("", codes[value]) if value in codes else (None, State.OK)
        digits = f"{value.quantize(_GRID).normalize():f}"
    whole, _, decimals = digits.partition(".")
    if len(whole) > WHOLE_DIGITS_MAX or len(decimals) > DECIMALS_MAX:
        return None, State.OK
    return (sign or back) + digits, State.OK


def _pattern(table: Mapping[str, Any]) -> str:
    made, numbers = [], 0
    for name, argument in table["line"]:
        if name == "number":
            made.append(_number_pattern(table, numbers))
            numbers += 1
        else:
            made.append(_part_pattern(name, argument, table))
    return "".join(made)


def _number_pattern(table: Mapping[str, Any], index: int) -> str:
    point = re.escape(table["decimal"])
    count = table["decimals"]
    whole = rf"[0-9]{{1,{WHOLE_DIGITS_MAX}}}"
    if count is None:
        decimals = rf"{point}[0-9]{{1,{MANTISSA_DECIMALS_MAX}}}"
        digits = rf"(?:{whole}(?:{decimals})?|{decimals})"
    elif count == 0:
        digits = whole
    else:
        digits = rf"[0-9]{{0,{WHOLE_DIGITS_MAX}}}{point}[0-9]{{{count}}}"
    # Where nothing ends a line the sign behind a number would be the one of the next.
    back = "" if table["chars"] else "[+-]?"
    number = (
        rf"(?P<sign{index}>[+-]?){_GAP}(?P<digits{index}>{digits})"
        rf"(?P<power{index}>(?:[eE][+-]?[0-9]{{1,2}})?)(?P<back{index}>{back})"
    )
    status = _one_of(table["status_words"]) or "(?!)"
    # An error code may look like a number, so the words are tried first.
    return f"{_GAP}(?:(?P<status{index}>{status})|{number})"


def _part_pattern(name: str, argument: str, table: Mapping[str, Any]) -> str:
    count = argument or "1,16"
    return {
        "text": re.escape(argument),
        "gap": r"[ \t]{1,16}",
        "unit": f"{_GAP}(?P<unit>{_one_of(table['unit_words'])})?",
        "channel": f"(?P<channel>{_one_of(table['channels'])})",
        "digits": f"[0-9]{{{count}}}",
        "hex": f"[0-9A-Fa-f]{{{count}}}",
        "other": _GAP + r"[+-]?[ ]{0,8}(?:[0-9]{1,12}(?:[.,][0-9]{0,12})?|[.,][0-9]{1,12})",
        "word": r"[A-Za-z]{1,16}",
        "flag": f"(?P<flag>{_one_of(table['flag_words'])})?",
        "key": f"(?P<key>{re.escape(argument)})?",
        "any": f".{{{count}}}",
        "from": "(?P<from>)",
        "to": "(?P<to>)",
        "check": f"(?P<check>[0-9A-Fa-f]{{{2 * _check_bytes(name, argument)}}})",
        "raw-check": f"(?P<check>.{{{_check_bytes(name, argument)}}})",
    }[name]


def _one_of(words: Sequence[str] | Mapping[str, Any]) -> str:
    return "|".join(map(re.escape, sorted(words, key=len, reverse=True)))


def _begin_of(parts: Sequence[tuple[str, str]]) -> str:
    """The control character that only the beginning of a line holds, "" without one."""
    name, text = parts[0]
    return text[0] if name == "text" and text[0] < " " and text[0] != "\t" else ""


def _check_bytes(name: str, kind: str) -> int:
    return len(CHECKSUMS[kind](b"")) if name.endswith("check") else 0


def _check_of(parts: Sequence[tuple[str, str]]) -> tuple[str, bool] | None:
    """The kind of checksum, and whether it is spoken in hexadecimal."""
    checks = [(kind, name == "check") for name, kind in parts if name.endswith("check")]
    return checks[0] if checks else None


def _is_right(match: re.Match[str], check: tuple[str, bool]) -> bool:
    kind, in_hex = check
    groups = match.re.groupindex
    first = match.start("from") if "from" in groups else 0
    last = match.end("to") if "to" in groups else match.start("check")
    right = CHECKSUMS[kind](match.string[first:last].encode("latin-1"))
    spoken = match["check"].encode("latin-1")
    return spoken.upper() == right.hex().upper().encode() if in_hex else spoken == right
