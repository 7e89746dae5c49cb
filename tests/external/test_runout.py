"""Runout of harmonics, eccentricity, sampling and cosine: values worked out two ways.

Source of each value: fixtures/references/runout.toml.
"""

from typing import Any

import numpy as np
import pytest

from daq.metrology import harmonics
from tests.external.references import references

VALUES = references("runout")


def _computed(name: str, given: dict[str, Any]) -> float:
    if name.startswith("fim_"):
        return harmonics.runout_mm(given["amplitude_mm"], given["phase_rad"])
    if name == "ecc_from_fim":
        return harmonics.eccentricity_mm(given["fim_mm"])
    if name == "coaxiality_limit":
        return harmonics.coaxiality_offset_mm(given["tolerance_diameter_mm"])
    if name.startswith("sampling_floor"):
        return harmonics.least_seen_share(given["samples_per_turn"])
    if name.startswith("lever_cosine"):
        return harmonics.cosine_factor(given["angle_deg"])
    if name.startswith("seat_face"):
        return harmonics.face_runout_mm(given["face_angle_deg"], given["offset_mm"])
    raise AssertionError(name)


@pytest.mark.parametrize("name", [n for n in VALUES if not n.startswith("offset_circle")])
def test_worked_value(name: str) -> None:
    VALUES[name].check(_computed(name, VALUES[name].inputs))


@pytest.mark.parametrize("name", [n for n in VALUES if n.startswith("offset_circle")])
def test_false_ovality_of_an_offset_circle(name: str) -> None:
    """The file's value is the exact one; ours from the profile is exact, the series nearly."""
    reference = VALUES[name]
    radius, offset = reference.inputs["radius_mm"], reference.inputs["eccentricity_mm"]
    angle = np.linspace(0.0, 2.0 * np.pi, 720, endpoint=False)
    profile = offset * np.cos(angle) + np.sqrt(radius**2 - (offset * np.sin(angle)) ** 2)
    fitted = harmonics.fit(angle, profile, 6)
    reference.check(fitted.amplitude_mm[1])
    series = harmonics.offset_circle_ovality_mm(radius, offset)
    assert series == pytest.approx(reference.value, rel=2e-4)
    assert np.ptp(profile) == pytest.approx(2 * offset, abs=1e-12)
