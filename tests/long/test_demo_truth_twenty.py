"""Over twenty invented heads stated uncertainties hold, and exactly the faults are found."""

import pytest

from tests.api.demo_truth import check_decisions, measured_over, share_inside

SEEDS = range(1, 21)


@pytest.fixture(scope="module")
def measured():
    return measured_over(SEEDS)


@pytest.mark.timeout(900)
def test_values_lie_within_their_stated_uncertainty(measured):
    assert 0.92 <= share_inside(measured) <= 0.99


@pytest.mark.timeout(900)
def test_exactly_the_invented_faults_are_found(measured):
    check_decisions(measured)
