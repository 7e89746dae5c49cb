"""How long it takes to sort 60 valves to 60 guides.

Run by hand: `python -m pytest tests/benchmarks/test_matching.py -s`. The baseline in the same run
tries every order of seven valves at one guide after the other, which is what a person would do.
"""

import itertools
import random
import statistics
import time

from daq.head.match import Size, Zone, as_they_are, best

VALVES, ROUNDS = 60, 20
SMALL = 7
LONGEST_S = 0.1


def head(valves, seed):
    """Invented: worn stems and bores of half as many cylinders, an intake and an exhaust each."""
    chance = random.Random(seed)
    positions = [f"{n // 2 + 1}{'IE'[n % 2]}" for n in range(valves)]
    stems, bores = [], []
    for position in positions:
        mean, oval = 6.97 - chance.uniform(0, 0.03), chance.uniform(0, 0.006)
        stems.append(Size(position, mean - oval, mean + oval, mean, 0.001))
        mean, oval = 7.01 + chance.uniform(0, 0.07), chance.uniform(0, 0.006)
        bores.append(Size(position, mean - oval, mean + oval, mean, 0.001))
    zones = {"I": Zone(0.020, 0.100), "E": Zone(0.045, 0.130)}
    return stems, bores, {p: zones[p[-1]] for p in positions}


def seconds(work):
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def every_order(stems, bores):
    return min(
        sum(abs(bores[g].mean_mm - stems[v].mean_mm - 0.07) for g, v in enumerate(order))
        for order in itertools.permutations(range(len(stems)))
    )


def test_sixty_valves_in_a_tenth_of_a_second():
    best(*head(VALVES, 0))  # the libraries load once
    heads = [head(VALVES, seed) for seed in range(ROUNDS)]
    took = [seconds(lambda h=h: best(*h)) for h in heads]
    stems, bores, _ = head(SMALL, 1)
    by_hand = statistics.median(seconds(lambda: every_order(stems, bores)) for _ in range(5))
    saved = sum(as_they_are(*h).parts_replaced - best(*h).parts_replaced for h in heads)
    print(
        f"\nsort {VALVES} valves: median {statistics.median(took) * 1e3:.1f} ms, longest "
        f"{max(took) * 1e3:.1f} ms, bar {LONGEST_S * 1e3:.0f} ms; every order of {SMALL}: "
        f"{by_hand * 1e3:.1f} ms, {by_hand / statistics.median(took):.1f} x; "
        f"{saved} parts saved in {ROUNDS} heads"
    )
    assert statistics.median(took) < LONGEST_S
    assert saved > 0
