"""Over some invented heads: stated uncertainties hold, and exactly the invented faults are found.

Twenty heads are in tests/long.

Two processes share the seeds. The product never sees the truth; the test compares.
"""

import multiprocessing
import statistics
from collections import defaultdict
from concurrent.futures import ProcessPoolExecutor

import pytest

from tests.api.demo_truth import errors

SEEDS = range(1, 4)
FAULTS = {("3E", "valve"): "replace", ("2E", "guide"): "rework", ("4I", "valve"): "rework"}


@pytest.fixture(scope="module")
def measured():
    fresh = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(2, mp_context=fresh) as pool:
        return list(pool.map(errors, SEEDS))


@pytest.mark.timeout(600)
def test_values_lie_within_their_stated_uncertainty(measured):
    rows = [row for found, _ in measured for row in found]
    assert len(rows) >= len(SEEDS) * 136
    outside = [row for row in rows if abs(row[2]) > row[3]]
    far_outside = [row for row in rows if abs(row[2]) > 2 * row[3]]
    by_kind = defaultdict(list)
    for _, characteristic, error, uncertainty in rows:
        by_kind[characteristic].append(abs(error) <= uncertainty)
    for characteristic, inside in by_kind.items():
        print(f"{characteristic}: {statistics.fmean(inside):.1%} of {len(inside)} inside")
    print(f"all: {1 - len(outside) / len(rows):.2%} of {len(rows)} inside")
    assert far_outside == []
    # Too few heads to hold the upper end of 99 %, too; tests/long does.
    assert 1 - len(outside) / len(rows) >= 0.92
    assert statistics.median(row[3] for row in rows) <= 0.004


@pytest.mark.timeout(600)
def test_exactly_the_invented_faults_are_found(measured):
    for _, decisions in measured:
        for position, part, decision in decisions:
            if (position, part) in FAULTS:
                assert decision == FAULTS[position, part]
            else:
                assert decision in {"accept", "unsure"}, (position, part)
