"""Two-point bore geometry. Source: solid geometry, derived (fixtures/references/bore.toml)."""

import pytest

from daq.metrology.bore import from_ring_mm, offset_for_mm, shown_mm, tilt_for_deg
from tests.external.references import Reference, references

ALL = references("bore")


def computed(reference: Reference) -> float:
    given = reference.inputs
    if reference.id.startswith("err_"):
        shown = shown_mm(
            given["D_mm"], given["tilt_deg"], given["offset_mm"], given["ball_radius_mm"]
        )
        return (shown - given["D_mm"]) * 1000
    if reference.id == "tilt_for_1um_D8":
        return tilt_for_deg(given["D_mm"], given["error_um"] / 1000)
    if reference.id == "offset_for_1um_D8":
        return offset_for_mm(given["D_mm"], given["error_um"] / 1000)
    assert reference.id.startswith("ring_")
    return from_ring_mm(given["ring_mm"], given["shown_in_ring_mm"], given["shown_in_bore_mm"])


@pytest.mark.parametrize("reference", ALL.values(), ids=ALL)
def test_value(reference):
    reference.check(computed(reference))


def test_a_gauge_that_does_not_fit_is_refused():
    with pytest.raises(ValueError, match="does not fit"):
        shown_mm(5.0, 0.0, offset_mm=2.5)
