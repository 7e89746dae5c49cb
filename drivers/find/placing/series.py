"""What a row of numbers behaves like: a spindle, a counter, a clock, the extreme of another."""

from collections import Counter
from collections.abc import Sequence
from decimal import Decimal
from itertools import pairwise
from statistics import fmean, pstdev

ENOUGH = 4
MOSTLY = 0.8
NEARLY_ALL = 0.9
STEPS_OF_NOISE_MAX = 10
CLOCK_UNEVEN_MAX = 0.6  # spread of the steps over their mean; a hand is far less even

Numbers = Sequence[Decimal]


def moves(values: Numbers) -> bool:
    """Whether it takes several values."""
    return len(set(values)) > 2 or (len(set(values)) == 2 and len(values) < ENOUGH)


def wanders(values: Numbers) -> bool:
    """Whether it goes farther than noise: over many steps of its display."""
    step = min(int(value.as_tuple().exponent) for value in values)
    return max(values) - min(values) >= STEPS_OF_NOISE_MAX * Decimal(1).scaleb(step)


def is_counter(values: Numbers) -> bool:
    """Goes up or down by the same step, or by one now and then; starting over is allowed."""
    if len(values) < 3:
        return False
    steps = [b - a for a, b in pairwise(values)]
    step, count = Counter(steps).most_common(1)[0]
    if step != 0 and count >= MOSTLY * len(steps):
        return True
    one_way = [s for s in steps if s in (0, 1)], [s for s in steps if s in (0, -1)]
    return any(len(way) >= NEARLY_ALL * len(steps) and any(way) for way in one_way)


def is_clock(values: Numbers) -> bool:
    """Always goes up, and about evenly, as time does."""
    if len(values) < ENOUGH + 2:
        return False
    steps = [float(b - a) for a, b in pairwise(values)]
    up = [s for s in steps if s > 0]
    if len(up) < NEARLY_ALL * len(steps):
        return False
    return pstdev(up) <= CLOCK_UNEVEN_MAX * fmean(up)


def is_extreme_of(values: Numbers, live: Numbers) -> bool:
    """The largest or the least that `live` has had so far, starting over allowed."""
    if len(values) < ENOUGH or values == live or not moves(live):
        return False
    if not moves(values) and not wanders(live):
        return False  # two that stand still, one more quietly than the other
    for better in (max, min):
        if any(better(v, x) != v for v, x in zip(values, live, strict=True)):
            continue
        follows = sum(
            b in (better(a, x), x) for (a, b), x in zip(pairwise(values), live[1:], strict=True)
        )
        if follows >= NEARLY_ALL * (len(values) - 1):
            return True
    return False


def follow_each_other(first: Numbers, second: Numbers) -> bool:
    """They differ by the same amount always, or add up to it: two views of one spindle."""
    if len(first) < ENOUGH or not moves(first):
        return False
    differences = Counter(a - b for a, b in zip(first, second, strict=True))
    sums = Counter(a + b for a, b in zip(first, second, strict=True))
    most = max(differences.most_common(1)[0][1], sums.most_common(1)[0][1])
    return most >= NEARLY_ALL * len(first)


def same_in_other_unit(first: Numbers, second: Numbers, factor: Decimal, step: Decimal) -> bool:
    """`second` times `factor` is `first` within a step of it, always."""
    return all(abs(b * factor - a) <= step for a, b in zip(first, second, strict=True))


def unevenness(values: Numbers) -> Decimal:
    """The path it takes: the sum of all steps, whatever their sign."""
    return sum((abs(b - a) for a, b in pairwise(values)), Decimal(0))
