"""Two hundred invented heads: no missed fault gives accept, under 2 % false replace.

Run by hand: `python -m pytest tests/long/test_heads_two_hundred.py -s`; the figures go into
docs/figures-head.md.
"""

import multiprocessing
from collections import Counter
from concurrent.futures import ProcessPoolExecutor

import pytest

from tests.daq.head.truth import outcome, outcome_without_guard, report

HEADS = 200


def over_all(work):
    fresh = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(2, mp_context=fresh) as pool:
        outcomes = list(pool.map(work, range(HEADS)))
    total = sum((count for count, _ in outcomes), Counter())
    print(f"\n{report(total)}")
    return total, [wrong for _, missed in outcomes for wrong in missed]


@pytest.mark.timeout(3600)
def test_two_hundred_heads():
    total, missed = over_all(outcome)
    assert missed == []
    assert total["good: replace"] < 0.02 * total["good parts"]
    assert total["good: accept"] > 0.7 * total["good parts"]
    assert total["faulty parts"] > 300


@pytest.mark.timeout(3600)
def test_without_uncertainty_the_same_heads_are_judged_wrongly():
    total, missed = over_all(outcome_without_guard)
    assert missed != []
    assert total["good: replace"] > 0
