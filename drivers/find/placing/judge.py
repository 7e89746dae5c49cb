"""Which number on the line is the one that the spindle moves; in doubt none.

A wrong number in a record is far worse than a gauge that has to be described by hand, so a column
is chosen only when it is clearly ahead of every other. The points are common practice, no source:
they were set on invented dialects and checked on others.
"""

from dataclasses import dataclass, replace
from decimal import Decimal

from drivers.find.placing.group import Column, Group
from drivers.find.placing.series import (
    follow_each_other,
    is_clock,
    is_counter,
    is_extreme_of,
    moves,
    same_in_other_unit,
    wanders,
)
from drivers.find.placing.tokens import Kind
from drivers.find.placing.words import (
    LENGTHS,
    MEASURED,
    OTHER_LENGTHS,
    OTHER_QUANTITIES,
    OTHERS,
    VERDICTS,
    length_unit,
)
from drivers.profile import SourceUnit
from drivers.reading import MM_PER_INCH

POINTS_MIN = 3
AHEAD_MIN = 3
UNIT_BESIDE, UNIT_ON_LINE, LABEL, ALONE, MOVES, STILL = 6, 2, 3, 2, 1, -4
ODD_LABEL = -3
DECIMALS = {0: -4, 1: -2, 2: 1, 3: 3, 4: 2, 5: 1}
SIGNED = 2
DECIMALS_OF_FLAGGED = 3  # nothing but a length has so many before a lone letter
INCH_LETTER = "I"
BRACKETS = "[]()<>:=*'\"|"


@dataclass(frozen=True, slots=True)
class Seen:
    """What is known of one number column.

    unit: of length, beside it or on its line, None where none is named. unit_place: the column of
    the unit's word. other: why it is not the measured one, "" when it may be.
    """

    place: int
    column: Column
    unit: SourceUnit | None
    unit_place: int | None
    label: str
    points: int
    other: str


@dataclass(frozen=True, slots=True)
class Verdict:
    """The columns chosen (several where each is a gauge of its own), or why none was."""

    chosen: tuple[Seen, ...]
    seen: tuple[Seen, ...]
    why: str = ""


def judged(group: Group) -> Verdict:
    """Choose in one group of messages of the same shape."""
    seen = _others_ruled_out(
        [_look(group, place) for place, c in enumerate(group.columns) if c.kind is Kind.NUMBER]
    )
    left = sorted((s for s in seen if not s.other), key=lambda s: -s.points)
    if not left:
        why = "; ".join(dict.fromkeys(s.other for s in seen)) or "there is no number on the line"
        return Verdict((), tuple(seen), why)
    if len(left) == 1:
        left = [replace(left[0], points=left[0].points + ALONE)]
    best = left[0]
    if best.points < POINTS_MIN:
        return Verdict((), tuple(seen), "no number on the line looks like a length")
    rivals = [s for s in left[1:] if best.points - s.points < AHEAD_MIN]
    if not rivals:
        return Verdict((best,), tuple(seen))
    if channels := _channels([best, *rivals], left):
        return Verdict(channels, tuple(seen))
    return Verdict(
        (), tuple(seen), f"{len(rivals) + 1} numbers on the line may be the measured one"
    )


def _look(group: Group, place: int) -> Seen:
    column = group.columns[place]
    beside, unit_place, behind = _unit_beside(group, place)
    label = _label(group, place)
    unit, points = beside, 0
    if beside is not None:
        points += UNIT_BESIDE
    elif (labelled := length_unit(label)) is not None:
        unit, points = labelled, points + UNIT_BESIDE
    elif found := _unit_on_line(group):
        unit, unit_place = found
        points += UNIT_ON_LINE
    other = _other(group, place, label, behind if beside is None else "", beside)
    if label.lower() in OTHER_QUANTITIES:
        # A single letter may as well be a channel's, a word with a unit behind it a status.
        points += ODD_LABEL
    points += DECIMALS.get(column.decimals, 0)
    if column.whole and beside is not None:
        points -= DECIMALS[0]
    points += LABEL * (label.lower() in MEASURED)
    points += SIGNED * column.signed
    points += MOVES * moves(column.values)
    return Seen(place, column, unit, unit_place, label, points, other)


def _other(group: Group, place: int, label: str, behind: str, beside: SourceUnit | None) -> str:
    """Why a column is not the measured one, as far as it shows by itself; "" when it may be."""
    column = group.columns[place]
    by_label = length_unit(label)
    if behind and _names_other(behind, group, place):
        return f"a number in {behind}"
    if by_label is None and len(label) > 1 and label.lower() in OTHER_LENGTHS:
        return f"a number called {label}"
    named = beside or by_label
    if named is not None:
        coarse = column.whole and named is not SourceUnit.UM
        return f"a whole number of {named}, too coarse for a gauge" if coarse else ""
    if len(label) > 1 and label.lower() in OTHER_QUANTITIES:
        return f"a number called {label}"
    if behind and _is_unknown_unit(behind, group, place):
        return f"a number in {behind}, which is no unit that is known"
    if INCH_LETTER in (label.upper(), behind.upper()):
        return f"a number with the letter {INCH_LETTER}, which may mean inches"
    if column.whole and is_counter(column.values):
        return "a number that counts"
    if column.whole:
        return "a whole number of which nobody says what one is worth"
    return ""


def _unit_beside(group: Group, place: int) -> tuple[SourceUnit | None, int | None, str]:
    """The unit of length behind a column and where it stands, and the word that stands there."""
    at = place + 1
    while at < len(group.columns) and _is_mark(group.columns[at], BRACKETS + ",;/"):
        at += 1
    if at >= len(group.columns) or group.columns[at].kind is not Kind.WORD:
        return None, None, ""
    if _belongs_to_next(group, at):
        return None, None, ""
    words = set(group.columns[at].texts)
    units = {length_unit(word) for word in words}
    if None not in units:
        # A label of the number behind it is no unit of this one: {"n":1,"mm":1.234}
        if at > place + 1 and _labels_next(group, at):
            return None, None, ""
        return next(iter(units)), at, next(iter(words))
    names = len(words) == 1 and at == place + 1 and not _labels_next(group, at)
    return None, None, next(iter(words)) if names else ""


def _labels_next(group: Group, at: int) -> bool:
    after = at + 1
    while after < len(group.columns) and _is_mark(group.columns[after], "\"'"):
        after += 1
    return after < len(group.columns) and _is_mark(group.columns[after], ":=")


def _belongs_to_next(group: Group, at: int) -> bool:
    """Whether the blanks show a word as the label of what follows: `1.234 T21.5`."""
    if at + 1 >= len(group.columns) or group.columns[at + 1].kind is not Kind.NUMBER:
        return False
    return all(group.columns[at].gaps) and not any(group.columns[at + 1].gaps)


def _is_mark(column: Column, among: str) -> bool:
    return column.kind is Kind.MARK and column.texts[0] in among


def _label(group: Group, place: int) -> str:
    """The word before a column, with nothing but marks between, "" without one."""
    at = place - 1
    while at >= 0 and _is_mark(group.columns[at], BRACKETS):
        at -= 1
    if at < 0 or not group.columns[at].constant:
        return ""
    if group.columns[at].kind is not Kind.WORD:
        return _channel_digit(group.columns[at])
    word = group.columns[at].texts[0]
    # A unit of the number before it is no label, unless a mark joins it to what follows.
    owned = at > 0 and group.columns[at - 1].kind is Kind.NUMBER and not _belongs_to_next(group, at)
    joined = at + 1 < place and _is_mark(group.columns[at + 1], ":=\"'[(")
    return "" if owned and not joined else word


def _channel_digit(column: Column) -> str:
    """A digit before a number may be its channel's: 1:+1.234 2:+0.567."""
    text = column.texts[0]
    return text if column.kind is Kind.NUMBER and len(text) == 1 and text.isdigit() else ""


def _unit_on_line(group: Group) -> tuple[SourceUnit, int] | None:
    """The only word on the line that names a unit of length."""
    places = [
        place
        for place, column in enumerate(group.columns)
        if column.kind is Kind.WORD and all(length_unit(word) for word in column.texts)
    ]
    if len(places) != 1:
        return None
    unit = length_unit(group.columns[places[0]].texts[0])
    return None if unit is None else (unit, places[0])


def _is_unknown_unit(word: str, group: Group, place: int) -> bool:
    """Whether a word right behind a number is neither a verdict nor the next number's label."""
    known = word.lower() in VERDICTS | OTHER_QUANTITIES | OTHER_LENGTHS | MEASURED
    apart = any("\t" in gap for gap in group.columns[place + 1].gaps)
    return len(word) > 1 and not known and not apart


def _names_other(word: str, group: Group, place: int) -> bool:
    """Whether the word behind a number names a unit of something else."""
    if len(word) > 1 or not word.isalpha():
        return word.lower() in OTHERS and word.lower() not in LENGTHS
    # A single letter may be a flag as well, and where it is, the number is still in doubt.
    return word.lower() in OTHERS and (
        word.lower() not in VERDICTS or group.columns[place].decimals < DECIMALS_OF_FLAGGED
    )


def _others_ruled_out(seen: list[Seen]) -> list[Seen]:
    """What only the comparison of columns shows: clocks, extremes, the same in another unit."""
    result = []
    for one in seen:
        rivals = [s for s in seen if s is not one and not s.other]
        values = one.column.values
        other = one.other
        if not other and rivals:
            if any(_is_extreme(one, r) for r in rivals):
                other = "a limit, or the largest or least so far"
            elif one.unit_place is None and is_clock(values):
                other = "a number that goes up evenly, like time"
            elif any(_is_copy(one, r) for r in rivals):
                other = "the same in inches"
        result.append(replace(one, other=other))
    movers = [s for s in result if not s.other and wanders(s.column.values)]
    return [
        replace(s, points=s.points + STILL) if movers and not moves(s.column.values) else s
        for s in result
    ]


def _is_extreme(one: Seen, rival: Seen) -> bool:
    alike = one.column.decimals == rival.column.decimals
    return alike and is_extreme_of(one.column.values, rival.column.values)


def _is_copy(one: Seen, rival: Seen) -> bool:
    if one.unit is not SourceUnit.INCH and one.unit is not None and one.unit is rival.unit:
        return False
    step = Decimal(1).scaleb(-rival.column.decimals) + MM_PER_INCH.scaleb(-one.column.decimals)
    return moves(rival.column.values) and same_in_other_unit(
        rival.column.values, one.column.values, MM_PER_INCH, step
    )


def _channels(rivals: list[Seen], left: list[Seen]) -> tuple[Seen, ...]:
    """Several numbers that differ only in the letter before them: gauges of one box."""
    labels = [s.label for s in rivals]
    alike = {(s.column.decimals, s.column.signed, s.unit) for s in rivals}
    if len(rivals) != len(left) or len(alike) != 1 or len(set(labels)) != len(labels):
        return ()
    if not all(len(label) == 1 for label in labels):
        return ()
    if not (all(map(str.isupper, labels)) or all(map(str.isdigit, labels))):
        return ()
    letters = sorted(ord(label) for label in labels)
    if letters != list(range(letters[0], letters[0] + len(letters))):
        return ()
    for index, one in enumerate(rivals):
        if any(follow_each_other(one.column.values, r.column.values) for r in rivals[index + 1 :]):
            return ()
    return tuple(sorted(rivals, key=lambda s: s.place))
