"""Place what is said as text: split it, group it, choose the number, draw the picture."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from drivers.find.placing.checks import Check, check_of
from drivers.find.placing.draw import drawn
from drivers.find.placing.group import Group, groups_of
from drivers.find.placing.judge import Verdict, judged
from drivers.find.placing.split import Sound, Split, splits
from drivers.find.placing.tokens import decimal_of
from drivers.find.placing.unit import may_be_mm
from drivers.profile import SourceUnit

TEXT_SHARE_MIN = 0.65
CONTROL = frozenset("\r\n\t\x02\x03\x04")
GROUP_SHARE_CLEAR = 0.6
UNIT_UNKNOWN = (
    "the unit is not said, and with so many decimals it may be millimetres or inches: switch the "
    "gauge's unit and listen again, or name the unit"
)
ASSUMED_MM = "the unit is not said: taken for millimetres"


@dataclass(frozen=True)
class Found:
    """A text form that explains the messages.

    table: of the profile. unit: None where it may be mm or inches. share: of the messages that
    fit. points: how clear the choice of the number was.
    """

    table: dict[str, Any]
    unit: SourceUnit | None
    assumed: tuple[str, ...]
    share: float
    points: int
    messages: int


@dataclass(frozen=True)
class Heard:
    """What became of one way of splitting. verdicts: of each group that was looked at."""

    split: Split
    groups: tuple[Group, ...]
    verdicts: tuple[Verdict, ...]
    found: Found | None
    why: str


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


Ends = tuple[str, str, str]


def _constant_ends(messages: Sequence[str], check: Check) -> Ends | None:
    """What stands before and behind the part that is summed up, and behind the checksum."""
    found = set()
    for message in messages:
        if check.holds(message):
            before, _, behind = check.cut(message)
            found.add((before[: check.first], before[len(before) - check.between :], behind))
    return found.pop() if len(found) == 1 else None


def _with_check(split: Split, check: Check, ends: Ends) -> Heard:
    rows = [i for i, message in enumerate(split.messages) if check.holds(message)]
    bodies = []
    for i in rows:
        before = check.cut(split.messages[i])[0]
        bodies.append(before[check.first : len(before) - check.between])
    groups = groups_of(bodies, decimal_of(bodies))
    moved = [
        Group(tuple(rows[r] for r in group.rows), group.columns, group.tail_gaps)
        for group in groups
    ]
    return _weighed(split, moved, check, ends)


def _weighed(split: Split, groups: Sequence[Group], check: Check | None, ends: Ends) -> Heard:
    verdicts = tuple(judged(group) for group in groups)
    able = [(g, v) for g, v in zip(groups, verdicts, strict=True) if v.chosen]
    why = (
        "; ".join(dict.fromkeys(v.why for v in verdicts if v.why)) or "no message repeats its shape"
    )
    if not able:
        return Heard(split, tuple(groups), verdicts, None, why)
    group, verdict = able[0]
    share = len(group.rows) / len(split.messages)
    if len(able) > 1 and share < GROUP_SHARE_CLEAR:
        why = "lines of several kinds hold a number that may be the measured one"
        return Heard(split, tuple(groups), verdicts, None, why)
    kept = set(group.rows)
    others = [m for i, m in enumerate(split.messages) if i not in kept]
    table = drawn(group, verdict.chosen, split, check, others)
    table["line"] = _framed(table["line"], check, ends)
    unit, assumed = _unit(verdict)
    points = min(seen.points for seen in verdict.chosen) + (4 if check else 0)
    found = Found(table, unit, assumed, share, points, len(split.messages))
    return Heard(split, tuple(groups), verdicts, found, why if unit is not None else UNIT_UNKNOWN)


def _framed(picture: str, check: Check | None, ends: Ends) -> str:
    if check is None:
        return picture
    head, tail, behind = (e.replace("{", "{{").replace("}", "}}") for e in ends)
    body, _, spoken = picture.rpartition("{")
    start = "{from}" if head else ""
    stop = "{to}" if tail else ""
    return f"{head}{start}{body}{stop}{tail}{{{spoken}{behind}"


def _unit(verdict: Verdict) -> tuple[SourceUnit | None, tuple[str, ...]]:
    named = {seen.unit for seen in verdict.chosen}
    if None not in named and len(named) == 1:
        return named.pop(), ()
    if may_be_mm(seen.column for seen in verdict.chosen):
        return SourceUnit.MM, (ASSUMED_MM,)
    return None, ()
