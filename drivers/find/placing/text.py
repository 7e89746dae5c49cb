"""Place what is said as text: split it, group it, choose the number, draw the picture."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from drivers.find.placing.checks import Check, check_of
from drivers.find.placing.draw import as_drawn, drawn
from drivers.find.placing.group import Group, groups_of
from drivers.find.placing.judge import Seen, Verdict, judged
from drivers.find.placing.split import Sound, Split, splits
from drivers.find.placing.tokens import decimal_of
from drivers.find.placing.unit import ASSUMED_MM, may_be_mm
from drivers.find.placing.words import length_unit
from drivers.profile import CANONICAL, SourceUnit
from drivers.reading import on_value_grid

TEXT_SHARE_MIN = 0.65
SIGNS = "+", "-", ".", ","
CONTROL = frozenset("\r\n\t\x02\x03\x04")
SHARE_MIN = 0.5
GROUP_SHARE_CLEAR = 0.6
KINDS_MAX = 4
KIND_SHARE_MIN = 0.8
ALMOST_ALL = 0.9
CHECKED_POINTS = 4  # a checksum that is right says that the messages were cut right
UNIT_UNKNOWN = (
    "the unit is not said, and with so many decimals it may be millimetres or inches: switch the "
    "gauge's unit and listen again, or name the unit"
)


@dataclass(frozen=True)
class Found:
    """A text form that explains the messages.

    table: of the profile. unit: None where it may be mm or inches. share: of the messages that
    fit. points: how clear the choice of the number was. numbers: each as spoken, and the unit
    that its own line names.
    """

    table: dict[str, Any]
    unit: SourceUnit | None
    assumed: tuple[str, ...]
    share: float
    points: int
    messages: int
    numbers: frozenset[tuple[Decimal, SourceUnit | None]]

    def values(self) -> frozenset[float]:
        """What has to be read back, in the canonical unit; nothing without a unit."""
        units = [(number, named or self.unit) for number, named in self.numbers]
        return frozenset(
            on_value_grid(number * CANONICAL[unit][1]) + 0.0 for number, unit in units if unit
        )


Ends = tuple[str, str, str]


@dataclass(frozen=True)
class Heard:
    """What became of one way of splitting. verdicts: of each group that was looked at.

    check, ends: the checksum of the messages, and the fixed text around what it sums up.
    """

    split: Split
    groups: tuple[Group, ...]
    verdicts: tuple[Verdict, ...]
    check: Check | None
    ends: Ends
    found: Found | None = None
    why: str = ""


def is_text(data: bytes) -> bool:
    """Whether most of it can be printed."""
    if not data:
        return False
    plain = sum(32 <= byte < 127 or chr(byte) in CONTROL for byte in data)
    return plain >= TEXT_SHARE_MIN * len(data)


def heard_as_text(sound: Sound) -> Iterator[Heard]:
    """What each way of splitting gives."""
    for split in splits(sound):
        if split.messages:
            yield _heard(split)


def best_of(heard: Sequence[Heard]) -> Heard | None:
    """The split that explains most; without one that does, the first."""
    if not heard:
        return None
    found = [(each.found.share, each.found.points, each) for each in heard if each.found]
    if not found:
        return heard[0]
    return max(found, key=lambda entry: entry[:2])[2]


def _heard(split: Split) -> Heard:
    check = check_of(split.messages)
    if check is not None:
        ends = _constant_ends(split.messages, check)
        if ends is not None:
            heard = _with_check(split, check, ends)
            if heard.found is not None:
                return heard
    return _without_check(split)


def _without_check(split: Split) -> Heard:
    groups = groups_of(split.messages, decimal_of(split.messages))
    return _weighed(split, groups, None, ("", "", ""))


def _constant_ends(messages: Sequence[str], check: Check) -> Ends | None:
    """What stands before and behind the part that is summed up, and behind the checksum."""
    found = set()
    for message in messages:
        if check.holds(message):
            before, _, behind = check.cut(message)
            found.add((before[: check.first], before[len(before) - check.between :], behind))
    # A sign before what is summed up is part of a number, and so is the sum.
    return found.pop() if len(found) == 1 and not next(iter(found))[0].endswith(SIGNS) else None


def _with_check(split: Split, check: Check, ends: Ends) -> Heard:
    rows = [i for i, message in enumerate(split.messages) if check.holds(message)]
    bodies = [check.body(split.messages[i]) for i in rows]
    groups = groups_of(bodies, decimal_of(bodies))
    moved = [
        Group(tuple(rows[r] for r in group.rows), group.columns, group.tail_gaps)
        for group in groups
    ]
    return _weighed(split, moved, check, ends)


def _weighed(split: Split, groups: Sequence[Group], check: Check | None, ends: Ends) -> Heard:
    verdicts = tuple(judged(group) for group in groups)
    heard = Heard(split, tuple(groups), verdicts, check, ends)
    able = [(g, v) for g, v in zip(groups, verdicts, strict=True) if v.chosen]
    if not able:
        whys = dict.fromkeys(v.why for v in verdicts if v.why)
        return replace(heard, why="; ".join(whys) or "no message repeats its shape")
    group, verdict = able[0]
    share = _share(heard, group)
    if share < SHARE_MIN and not _in_turn(heard):
        return replace(heard, why="less than half of what was heard looks alike")
    if len(able) > 1 and share < GROUP_SHARE_CLEAR:
        why = "lines of several kinds hold a number that may be the measured one"
        return replace(heard, why=why)
    return settled(heard, group, verdict.chosen)


def _share(heard: Heard, group: Group) -> float:
    """Of the messages with a digit in them, how many are of this group."""
    told = sum(any(c.isdigit() for c in message) for message in heard.split.messages)
    return len(group.rows) / max(1, told)


def _in_turn(heard: Heard) -> bool:
    """Whether a few kinds of lines, each common, are all there is: a block of several lines."""
    sizes = [len(group.rows) for group in heard.groups[:KINDS_MAX]]
    alike = min(sizes) >= KIND_SHARE_MIN * max(sizes)
    return alike and sum(sizes) >= ALMOST_ALL * len(heard.split.messages)


def settled(
    heard: Heard, group: Group, chosen: Sequence[Seen], unit: SourceUnit | None = None
) -> Heard:
    """With these columns of this group as the measured ones. unit: as somebody has said."""
    kept = set(group.rows)
    others = [m for i, m in enumerate(heard.split.messages) if i not in kept]
    table = drawn(group, chosen, heard.split, heard.check, others)
    table["line"] = _framed(table["line"], heard.check, heard.ends)
    known, assumed = (unit, ()) if unit is not None else _unit(chosen)
    count = len(heard.split.messages)
    points = min(seen.points for seen in chosen) + (CHECKED_POINTS if heard.check else 0)
    numbers = frozenset(n for seen in chosen for n in _numbers(group, seen))
    found = Found(table, known, assumed, _share(heard, group), points, count, numbers)
    return replace(heard, found=found, why="" if known is not None else UNIT_UNKNOWN)


def _numbers(group: Group, seen: Seen) -> Iterator[tuple[Decimal, SourceUnit | None]]:
    """The numbers of a chosen column, each with the unit of its own line."""
    place = seen.unit_place
    words = group.columns[place].texts if place is not None else ("",) * len(group.rows)
    for value, word in zip(seen.column.values, words, strict=True):
        yield value, length_unit(word)


def _framed(picture: str, check: Check | None, ends: Ends) -> str:
    if check is None:
        return picture
    head, tail, behind = map(as_drawn, ends)
    body, _, spoken = picture.rpartition("{")
    start = "{from}" if head else ""
    stop = "{to}" if tail else ""
    return f"{head}{start}{body}{stop}{tail}{{{spoken}{behind}"


def _unit(chosen: Sequence[Seen]) -> tuple[SourceUnit | None, tuple[str, ...]]:
    named = {seen.unit for seen in chosen}
    if None not in named and len(named) == 1:
        return named.pop(), ()
    if may_be_mm(seen.column for seen in chosen):
        return SourceUnit.MM, (ASSUMED_MM,)
    return None, ()
