"""Uncertainties: how they combine and reach."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from daq.metrology.measured import Contribution, Evaluation, Measured, combined
from daq.metrology.temperature import EXPANSIONS, Expansion, Warmth, at_20
from daq.metrology.uncertainty import (
    Part,
    covariance,
    coverage_factor,
    effective_degrees_of_freedom,
    propagated,
    sensitivities,
)

part = st.builds(Part, st.floats(0.01, 10), st.one_of(st.integers(1, 100), st.just(math.inf)))


@settings(derandomize=True)
@given(st.lists(part, min_size=1, max_size=6))
def test_effective_degrees_lie_between_the_least_and_the_sum(parts):
    freedom = effective_degrees_of_freedom(parts)
    assert freedom >= min(p.degrees_of_freedom for p in parts) * (1 - 1e-9)
    assert freedom <= sum(p.degrees_of_freedom for p in parts) * (1 + 1e-9)


def test_nothing_finite_is_infinite():
    assert math.isinf(effective_degrees_of_freedom([Part(1.0), Part(2.0)]))


@pytest.mark.parametrize(
    ("freedom", "k"), [(1, 12.706), (2, 4.303), (10, 2.228), (math.inf, 1.960)]
)
def test_coverage_factors_of_the_usual_table(freedom, k):
    """Student's t, two-sided 95 %: any table; these from memory."""
    assert coverage_factor(0.95, freedom) == pytest.approx(k, abs=0.0005)


def test_derivatives_of_a_product():
    rates = sensitivities(lambda x: np.array([x[0] * x[1], x[0] - x[1]]), [3.0, 5.0], [0.1, 0.1])
    assert rates == pytest.approx(np.array([[5.0, 3.0], [1.0, -1.0]]))


def test_full_correlation_adds_and_cancels():
    rates = np.array([[1.0, 1.0], [1.0, -1.0]])
    both = propagated(rates, covariance([0.3, 0.3], np.ones((2, 2))))
    assert np.sqrt(np.diag(both)) == pytest.approx([0.6, 0.0], abs=1e-9)


def test_correcting_for_warmth_keeps_the_budget_and_adds_to_it():
    line = Contribution("resolution", 0.0003, Evaluation.TYPE_B)
    stem = Measured(7.9635, "mm", (line,))
    warm = Warmth(29.0, 0.5, EXPANSIONS["austenitic valve steel"])
    cold = at_20(stem, warm)
    assert cold.value < stem.value
    assert cold.budget[0] is line
    assert [each.name for each in cold.budget[1:]] == ["temperature of part", "expansion of part"]
    assert cold.u == pytest.approx(combined(each.u for each in cold.budget))


def test_at_twenty_degrees_only_the_thermometer_counts():
    warm = Warmth(20.0, 0.5, Expansion(1e-5, 1e-6, "invented"))
    corrected = at_20(Measured(10.0, "mm"), warm)
    assert corrected.value == 10.0
    assert [each.u for each in corrected.budget] == pytest.approx([5e-5, 0.0])
