"""Where the order of doing would have something done twice, said as a note.

Guides before seats, seats before recess, fitted height and leak, the head face before every
recess, everything before assembly (see `work_list`). Nobody is locked out: who measures a seat
before its guide is good is told what that is worth.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from daq.head.characteristic import CATALOGUE, Part
from daq.head.deciding.outcome import Decision, Verdict
from daq.head.layout import HEAD
from daq.head.measurement import Measurement

_LEAK = ("seat.leak", "seat.leak_fluid")


@dataclass(frozen=True, slots=True)
class _Before:
    """What has to be good before others are worth measuring, and why."""

    part: Part
    first: tuple[str, ...]
    then: tuple[str, ...]
    why: str


_ORDER = (
    _Before(
        "guide",
        (),
        ("seat.runout", "seat.width", *_LEAK),
        "the pilot of cutter and seat gauge sits in the guide",
    ),
    _Before(
        "seat",
        ("seat.runout", "seat.width"),
        ("valve.recess", "spring.fitted_height", *_LEAK),
        "cutting the seat sinks the valve",
    ),
    _Before(
        "head", ("head.flatness",), ("valve.recess",), "skimming takes the face it is measured from"
    ),
    _Before(
        "head",
        ("head.clean",),
        ("guide.diameter", "seat.runout", *_LEAK),
        "dirt is measured with it",
    ),
)
_WORDS = {
    Verdict.REPLACE: "has to be replaced",
    Verdict.REWORK: "needs work",
    Verdict.UNSURE: "is unsure",
    Verdict.NOT_MEASURED: "is not measured",
}
_ASSEMBLY = tuple(about.name for about in CATALOGUE.values() if about.part == "assembly")


def order_notes(decisions: Sequence[Decision], measured: Iterable[Measurement]) -> Iterator[str]:
    """One sentence for each part that had to be good before what stands on it was measured."""
    there: dict[str, set[str]] = {}
    for m in measured:
        there.setdefault(m.position, set()).add(m.characteristic)
    for rule in _ORDER:
        for decision in decisions:
            if decision.part == rule.part and _is_open(decision, rule):
                yield from _note(decision, rule, there)
    for position in there:
        bad = [d for d in decisions if d.position == position and d.decision is not Verdict.ACCEPT]
        parts = [d.part for d in bad if d.part != "assembly"]
        if parts and there[position] & set(_ASSEMBLY):
            yield (
                f"{position} is being assembled, and not accepted yet is its {_and(parts)}: "
                "whatever is done there takes it apart again"
            )


def _is_open(decision: Decision, rule: _Before) -> bool:
    """Whether that part is not good in what the rule asks first of it."""
    if decision.decision is Verdict.ACCEPT:
        return False
    return not rule.first or any(r.characteristic in rule.first for r in decision.reasons)


def _note(decision: Decision, rule: _Before, there: dict[str, set[str]]) -> Iterator[str]:
    positions = there if decision.position == HEAD else [decision.position]
    early = {p: [n for n in rule.then if n in there.get(p, ())] for p in positions}
    early = {position: names for position, names in early.items() if names}
    if not early:
        return
    names = dict.fromkeys(name for found in early.values() for name in found)
    where = "the head" if decision.position == HEAD else decision.position
    first = f"the {rule.part}"
    was, they = ("was", "it") if len(names) == 1 else ("were", "they")
    yield (
        f"{where}: {_and(names)} {was} measured while {first} {_WORDS[decision.decision]}; "
        f"{rule.why}, so {they} may have to be measured again"
    )


def _and(names: Iterable[str]) -> str:
    *most, last = names
    return f"{', '.join(most)} and {last}" if most else last
