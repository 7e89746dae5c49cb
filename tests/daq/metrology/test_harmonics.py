"""Fitting harmonics gives back what a profile was made of, wherever the readings fell."""

import numpy as np
import pytest

from daq.metrology.harmonics import fit, least_seen_share, runout_mm


def test_uneven_angles_give_the_same_harmonics() -> None:
    rng = np.random.default_rng(4)
    angle = np.sort(rng.uniform(0, 2 * np.pi, 60))
    level = 0.4 + 0.02 * np.cos(angle + 0.3) + 0.005 * np.cos(2 * angle - 1.0)
    fitted = fit(angle, level + 0.001 * np.cos(5 * angle), 5)
    assert fitted.mean_mm == pytest.approx(0.4)
    assert fitted.peak_to_valley_mm(1) == pytest.approx(0.04)
    assert fitted.amplitude_mm == pytest.approx((0.02, 0.005, 0, 0, 0.001), abs=1e-12)
    assert fitted.phase_rad[:2] == pytest.approx((0.3, -1.0))
    assert fitted.dominant_lobing == 2


def test_too_few_readings_are_refused() -> None:
    with pytest.raises(ValueError, match="at least 11"):
        fit(np.zeros(10), np.zeros(10), 5)


def test_runout_is_at_least_that_of_any_grid() -> None:
    rng = np.random.default_rng(5)
    for _ in range(20):
        amplitude, phase = rng.uniform(0, 0.02, 6), rng.uniform(0, 6, 6)
        angle = np.linspace(0, 2 * np.pi, 9000)[:, None] * np.arange(1, 7)
        seen = np.ptp(np.cos(angle + phase) @ amplitude)
        assert runout_mm(amplitude.tolist(), phase.tolist()) == pytest.approx(seen, abs=1e-7)


def test_samples_of_odd_number_see_one_end_nearly() -> None:
    phases = np.linspace(0, 2 * np.pi, 4001)[:, None]
    for samples in (5, 8, 25):
        angle = 2 * np.pi * np.arange(samples) / samples
        worst = np.min(np.ptp(np.cos(angle + phases), axis=1)) / 2
        assert least_seen_share(samples) == pytest.approx(worst, abs=1e-5)
