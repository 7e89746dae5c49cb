"""Which number moves with the spindle: one recording at rest, one while it is moved."""

from drivers.find.placing.group import Group, groups_of
from drivers.find.placing.judge import Seen, Verdict
from drivers.find.placing.series import is_clock, is_counter
from drivers.find.placing.split import Sound, splits
from drivers.find.placing.text import Heard
from drivers.find.placing.tokens import decimal_of

MOVED_TIMES = 5  # it has to wander so many times as far as at rest
STEPS_MIN = 5  # of the display


def moved(heard: Heard, moving: Sound) -> tuple[Group, Seen] | None:
    """The only number of `heard` (taken at rest) that wanders in `moving`; None in doubt."""
    messages = _messages(heard, moving)
    if not messages:
        return None
    now = groups_of(messages, decimal_of(messages))
    found: list[tuple[Group, Seen]] = []
    for group, verdict in zip(heard.groups, heard.verdicts, strict=True):
        later = next((g for g in now if _kinds(g) == _kinds(group)), None)
        if later is not None:
            found += [(group, seen) for seen in _wanderers(verdict, later)]
    return found[0] if len(found) == 1 else None


def _messages(heard: Heard, moving: Sound) -> list[str]:
    mine = heard.split
    for split in splits(moving):
        if (split.end, split.tail, split.chars) == (mine.end, mine.tail, mine.chars):
            if heard.check is None:
                return split.messages
            return [heard.check.body(m) for m in split.messages if heard.check.holds(m)]
    return []


def _kinds(group: Group) -> list[str]:
    return [str(column.kind) for column in group.columns]


def _wanderers(verdict: Verdict, later: Group) -> list[Seen]:
    result = []
    for seen in verdict.seen:
        column = later.columns[seen.place]
        if is_counter(column.values) or is_clock(column.values):
            continue
        rest = max(seen.column.values) - min(seen.column.values)
        range_now = max(column.values) - min(column.values)
        step = 10 ** -max(column.decimals, seen.column.decimals)
        if range_now >= STEPS_MIN * step and range_now > MOVED_TIMES * rest:
            result.append(seen)
    return result
