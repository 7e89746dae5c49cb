"""Invented heads measured, decided, and held against what is really wrong with them."""

from collections import Counter
from decimal import Decimal

from daq.head.instrument import Instrument
from daq.head.place import Place
from daq.head.plan import Plan
from daq.head.record import Record
from daq.head.work_list import work_list
from daq.metrology.conformity import judge
from tests.generators.books import Book
from tests.generators.heads import invented_head


def book_of(head):
    """Everything that was measured of a head, keyed in."""
    book = Book(Plan.model_validate(head.plan))
    opened = Record(tuple(book.entries))
    for value in head.values:
        gauge = None
        if value.tool:
            gauge = Instrument(value.tool, "", 0.0)
        elif value.step:
            gauge = Instrument("gauge", "G-1", value.step, error_limit_mm=value.error)
        place = None if value.place is None else Place.model_validate(value.place)
        book.key(
            value.characteristic,
            value.position,
            Decimal(value.value),
            place,
            gauge=gauge,
            unit=value.unit,
            ask=opened,
            held_s=value.held_s,
        )
    return book


def outcome(seed):
    """What became of the parts of one head: counts, and the faults that were taken for good."""
    head = invented_head(seed)
    view = book_of(head).view
    count, missed = Counter(heads=1), []
    for decision in view.decisions:
        verdict, key = decision.decision.value, (decision.position, decision.part)
        faults = head.faults.get(key)
        count["faulty parts" if faults else "good parts"] += 1
        count[f"{'faulty' if faults else 'good'}: {verdict}"] += 1
        if faults and verdict == "accept":
            missed.append((seed, key, faults))
    found = {(item.position, item.part) for item in work_list(view).items}
    missed += [(seed, key, "no work") for key in head.faults if key not in found]
    return count, missed


def outcome_without_guard(seed):
    """The same with every value taken as it stands: nothing is left for its uncertainty."""
    usual = judge.__defaults__
    judge.__defaults__ = (0.5 + 1e-9,)
    try:
        return outcome(seed)
    finally:
        judge.__defaults__ = usual


def report(count):
    """The counts as lines for the docs."""
    good, faulty = count["good parts"], count["faulty parts"]
    verdicts = ("accept", "unsure", "rework", "replace", "not measured")
    lines = [f"{count['heads']} heads, {good + faulty} parts, {faulty} of them with a fault"]
    for kind, total in (("faulty", faulty), ("good", good)):
        shares = ", ".join(
            f"{verdict} {count[f'{kind}: {verdict}']} "
            f"({count[f'{kind}: {verdict}'] / max(total, 1):.1%})"
            for verdict in verdicts
        )
        lines.append(f"{kind} parts: {shares}")
    return "\n".join(lines)
