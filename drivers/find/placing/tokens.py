"""Cut a line into what a person sees on it: numbers, words, dates, times, the marks between."""

import re
from collections.abc import Sequence
from enum import StrEnum
from typing import NamedTuple


class Kind(StrEnum):
    """What a piece of a line looks like."""

    DATE = "date"
    TIME = "time"
    NUMBER = "number"
    HEX = "hex"
    WORD = "word"
    MARK = "mark"  # a single character that is none of the others
    GAP = "gap"


class Token(NamedTuple):
    """A piece of a line, as spoken."""

    kind: Kind
    text: str


_DATE = (
    r"\d{4}[-/.]\d\d[-/.]\d\d|\d{1,2}(?P<sep>[-/.])\d{1,2}(?P=sep)\d{2,4}"
    r"|\d{1,2}[ -][A-Z][A-Za-z]{2}[ -]\d{2,4}"
)
_TIME = r"\d{1,2}:\d\d(?::\d\d(?:[.,]\d{1,6})?)?"
_WORD = r"[A-Za-z%\xb0\xb5\xc2\xce\xbc\u2033]+(?:/[A-Za-z]+)?"
_EDGE = r"(?<![0-9A-Za-z.,])", r"(?![0-9A-Za-z.,])"


def _pattern(point: str) -> re.Pattern[str]:
    digits = rf"(?:[0-9]+(?:{point}[0-9]*)?|{point}[0-9]+)"
    number = rf"(?:[+-][ ]{{0,8}})?{digits}(?:[eE][+-]?[0-9]{{1,2}}(?![0-9A-Za-z]))?"
    behind = r"(?:(?<![+-])[+-](?=[ \t\r\n;,\x03]|$))?"
    apart, end = _EDGE
    return re.compile(
        rf"(?P<date>{apart}(?:{_DATE}){end})"
        rf"|(?P<time>{apart}(?:{_TIME}){end})"
        rf"|(?P<hex>{apart}(?=[0-9A-F]*[0-9])(?=[0-9]*[A-F])(?![0-9]+E[0-9]+)[0-9A-F]{{2,16}}{end})"
        rf"|(?P<number>{number}{behind})"
        rf"|(?P<word>{_WORD})"
        rf"|(?P<gap>[ \t]+)"
        rf"|(?P<mark>.)",
        re.DOTALL,
    )


_PATTERNS = {".": _pattern(r"\."), ",": _pattern(",")}
_INCH_MARK = '"'
TOLERANCE_MARKS = "<", "=", ">"


def tokens_of(line: str, decimal: str) -> list[Token]:
    """The pieces of `line`, which join to it again. decimal: "." or ","."""
    tokens: list[Token] = []
    lone_mark = line.count(_INCH_MARK) == 1
    for match in _PATTERNS[decimal].finditer(line):
        kind, text = Kind(match.lastgroup or "mark"), match[0]
        if kind is Kind.MARK and text == _INCH_MARK and lone_mark:
            kind = Kind.WORD
        signs = text.count("+") + text.count("-") - len(re.findall(r"[eE][+-]", text))
        if kind is Kind.NUMBER and signs > 1:
            # A sign on both sides: the one behind belongs to what follows.
            tokens += [Token(kind, text[:-1]), Token(Kind.MARK, text[-1])]
        else:
            tokens.append(Token(kind, text))
    if len(tokens) > 1 and _is_tolerance_mark(tokens[-2], tokens[-1]):
        tokens[-1] = Token(Kind.WORD, tokens[-1].text)
    return tokens


def _is_tolerance_mark(before: Token, last: Token) -> bool:
    """Whether a line ends with the sign for below, within or above the tolerance."""
    return last.text in TOLERANCE_MARKS and before.kind in (Kind.NUMBER, Kind.GAP, Kind.WORD)


def decimal_of(lines: Sequence[str]) -> str:
    """Which character stands before the decimals: "," only where nothing else explains it.

    A comma that stands beside anything but digits, more than once in most lines, or beside a
    number with a point, separates.
    """
    commas = sum(_has_comma(line) for line in lines)
    separates = any(re.search(r"(?<![0-9]),|,(?![0-9])", line) for line in lines)
    several = sum(len(re.findall(r"[0-9],(?=[0-9])", line)) > 1 for line in lines)
    beside_point = any(re.search(r"\.[0-9]*,|,[0-9]*\.[0-9]", line) for line in lines)
    if commas < len(lines) / 2 or separates or several > len(lines) / 2 or beside_point:
        return "."
    return ","


def _has_comma(line: str) -> bool:
    return any(t.kind is Kind.NUMBER and "," in t.text for t in tokens_of(line, ","))
