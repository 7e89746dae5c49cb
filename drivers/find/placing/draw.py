"""Draw what was made out of a group of messages as the picture that a profile holds."""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from drivers.find.placing.checks import Check
from drivers.find.placing.group import Column, Group, nines
from drivers.find.placing.judge import Seen
from drivers.find.placing.series import unevenness
from drivers.find.placing.split import Split
from drivers.find.placing.tokens import TOLERANCE_MARKS, Kind
from drivers.find.placing.words import (
    CODES,
    OTHER_QUANTITIES,
    OTHERS,
    VERDICTS,
    length_unit,
    state_word,
)
from drivers.wires.base import DECIMALS_MAX

STATUS_WORDS_MAX = 8
WORD_CHARS_MAX = 16
WORD_SHARE_MIN = 0.2
CODE_SHARE_MIN = 0.7
CHANNELS_MAX = 16
FAIR_SHARE_MIN = 0.5
SMOOTHER = 2  # a channel word makes the path of the numbers so many times shorter


@dataclass
class Drawing:
    """A picture in the making, and the other keys of its table."""

    picture: str = ""
    keys: dict[str, Any] = field(default_factory=dict)

    def text(self, text: str) -> None:
        """Add text as it is."""
        self.picture += as_drawn(text)


def as_drawn(text: str) -> str:
    """Text as it stands in a picture: a brace of its own is doubled."""
    return text.replace("{", "{{").replace("}", "}}")


def drawn(
    group: Group,
    chosen: Sequence[Seen],
    split: Split,
    check: Check | None,
    others: Sequence[str],
) -> dict[str, Any]:
    """The table `picture` of a profile. others: the messages that are not of this group."""
    drawing = Drawing()
    channel = _channel_place(group, chosen) if len(chosen) == 1 else None
    numbers = {seen.place: seen for seen in chosen}
    unit_place = chosen[0].unit_place if len(chosen) == 1 else None
    for place, column in enumerate(group.columns):
        _gap(drawing, group, place, numbers)
        if place in numbers:
            name = numbers[place].label if len(chosen) > 1 else ""
            drawing.picture += f"{{number:{name}}}" if name else "{number}"
        elif place == channel:
            drawing.picture += "{channel}"
            drawing.keys["channels"] = sorted(set(column.texts))
        elif place == unit_place and all(word.isascii() for word in column.texts):
            drawing.picture += "{unit}"
            drawing.keys["unit_words"] = {
                word: str(length_unit(word)) for word in sorted(set(column.texts))
            }
        elif column.kind is Kind.NUMBER:
            _number(drawing, group, place)
        else:
            _other(drawing, column)
    if group.tail_gaps and all(group.tail_gaps):
        drawing.picture += " "
    _finish(drawing, chosen, split, check)
    if words := _status_words(chosen, others):
        drawing.keys["status_words"] = words
    return {"line": drawing.picture, **drawing.keys}


def _gap(drawing: Drawing, group: Group, place: int, numbers: dict[int, Seen]) -> None:
    gaps = group.columns[place].gaps
    if not all(gaps):
        return
    before = group.columns[place - 1].kind if place else None
    if place in numbers and before not in (Kind.NUMBER, Kind.HEX, Kind.DATE, Kind.TIME):
        return  # a number takes the blanks before it, however many
    if place or place not in numbers:
        drawing.picture += " "


def _other(drawing: Drawing, column: Column) -> None:
    if column.kind is Kind.MARK:
        drawing.text(column.texts[0])
    elif column.kind is Kind.DATE or column.kind is Kind.TIME:
        for piece in re.split(r"([0-9]+|[A-Za-z]+)", column.texts[0]):
            if piece.isdigit():
                drawing.picture += "{digits}"
            elif piece.isalpha():
                drawing.picture += "{word}"
            else:
                drawing.text(piece)
    elif column.kind is Kind.HEX:
        _hex(drawing, column)
    else:
        _word(drawing, column)


def _word(drawing: Drawing, column: Column) -> None:
    counts = Counter(column.texts)
    if counts.keys() <= set(TOLERANCE_MARKS):
        drawing.picture += "{flag}"
        drawing.keys["flag_words"] = dict.fromkeys(TOLERANCE_MARKS, "ok")
        return
    word, count = counts.most_common(1)[0]
    rare = [w for w, n in counts.items() if n < WORD_SHARE_MIN * len(column.texts)]
    # A rare word that nobody knows may say that the number does not count.
    if len(counts) == 1 or (
        count >= CODE_SHARE_MIN * len(column.texts) and any(w.lower() not in VERDICTS for w in rare)
    ):
        drawing.text(word)
    else:
        drawing.picture += "{word}"


def _hex(drawing: Drawing, column: Column) -> None:
    text, count = Counter(column.texts).most_common(1)[0]
    width = column.width()
    if count >= CODE_SHARE_MIN * len(column.texts):
        drawing.text(text)  # flags: nobody knows what others mean
    else:
        drawing.picture += f"{{hex:{width}}}" if width else "{word}"


def _number(drawing: Drawing, group: Group, place: int) -> None:
    column = group.columns[place]
    if not column.whole or column.signed:
        drawing.picture += "{other}"
        return
    text, count = Counter(column.texts).most_common(1)[0]
    mostly = count >= CODE_SHARE_MIN * len(column.texts)
    if mostly and (column.constant or not _explained(group, place)):
        drawing.text(text)  # a code: what others mean nobody knows, perhaps that it is no number
        return
    width = column.width()
    padded = any(t.startswith("0") and len(t) > 1 for t in column.texts)
    drawing.picture += f"{{digits:{width}}}" if width and padded else "{digits}"


def _explained(group: Group, place: int) -> bool:
    """Whether a word beside a whole number says that it is no code."""
    beside = [group.columns[at] for at in (place - 1, place + 1) if 0 <= at < len(group.columns)]
    words = {c.texts[0].lower() for c in beside if c.kind is Kind.WORD}
    return any(word in OTHERS or word in OTHER_QUANTITIES - CODES for word in words)


def _channel_place(group: Group, chosen: Sequence[Seen]) -> int | None:
    """The word or digit that tells the gauges of a box apart, or None."""
    place, column = chosen[0].place, chosen[0].column
    for at in range(place - 1, -1, -1):
        words = group.columns[at].texts
        counts = Counter(words)
        if not 2 <= len(counts) <= CHANNELS_MAX:
            continue
        if min(counts.values()) < max(2, FAIR_SHARE_MIN * len(words) / len(counts)):
            continue  # a box lets each gauge speak about as often; a rare word is a code
        if any(len(word) > 2 for word in counts) or group.columns[at].kind is Kind.MARK:
            continue
        apart = sum(
            unevenness([v for v, w in zip(column.values, words, strict=True) if w == word])
            for word in counts
        )
        if apart * SMOOTHER < unevenness(column.values):
            return at
    return None


def _finish(drawing: Drawing, chosen: Sequence[Seen], split: Split, check: Check | None) -> None:
    keys = drawing.keys
    if check is not None:
        name = "check" if check.in_hex else "raw-check"
        drawing.picture += f"{{{name}:{check.kind}}}"
    if any(seen.column.decimal == "," for seen in chosen):
        keys["decimal"] = ","
    if len(chosen) == 1 and (decimals := _decimals(chosen[0].column)) is not None:
        keys["decimals"] = decimals
    if split.end:
        keys["end"] = split.end
    if split.tail:
        keys["tail_bytes"] = split.tail
    if split.chars is not None:
        keys["chars"] = split.chars


def _decimals(column: Column) -> int | None:
    """So many decimals in every number, None where that changes."""
    counts = {len(t.rstrip("+-").partition(column.decimal)[2]) for t in column.texts}
    plain = not any("e" in t.lower() for t in column.texts)
    return counts.pop() if len(counts) == 1 and plain and max(counts) <= DECIMALS_MAX else None


def _status_words(chosen: Sequence[Seen], others: Sequence[str]) -> dict[str, str]:
    words: dict[str, str] = {}
    for seen in chosen:
        for text in nines(seen.column):
            words[text] = "over-range"
    for message in dict.fromkeys(m.strip() for m in others):
        state = state_word(message)
        fits = 1 <= len(message) <= WORD_CHARS_MAX and message.isascii() and message.isprintable()
        if state and fits and len(words) < STATUS_WORDS_MAX:
            words[message] = state
    return words
