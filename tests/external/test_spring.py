"""Springs. Sources: a textbook's worked example, EN 13906-1 (references/spring.toml)."""

import math

import pytest

from daq.metrology.spring import gap_mm, lean_deg, rate_n_per_mm, rate_of_loads_n_per_mm
from tests.external.references import references

ALL = references("spring")
LBF_N, INCH_MM, PSI_N_MM2 = 4.4482216152605, 25.4, 4.4482216152605 / 25.4**2
# Coil diameter and end tolerances of new springs: the product holds no such table.
NOT_OURS = {name for name in ALL if name.startswith(("coil_diameter", "e1_", "e2_"))}
RATES = {name for name in ALL if name.startswith("rate_") and name[-1].isdigit()}
LEANS = {name for name in ALL if name.startswith("tilt_")}


def test_every_row_is_checked_or_named():
    named = {"shigley_rate", "rate_sensitivity", "rate_fit"}
    assert NOT_OURS | RATES | LEANS | named == set(ALL)


def test_the_textbook_spring():
    given = ALL["shigley_rate"].inputs
    shear = given["G_psi"] * PSI_N_MM2
    wire, coil = given["d_in"] * INCH_MM, given["mean_D_in"] * INCH_MM
    rate = rate_n_per_mm(wire, coil, given["active"], shear)
    ALL["shigley_rate"].check(rate * INCH_MM / LBF_N)


@pytest.mark.parametrize("name", sorted(RATES))
def test_rate(name):
    given = ALL[name].inputs
    ALL[name].check(rate_n_per_mm(given["d_mm"], given["D_mm"], given["n"], given["G"]))


def test_one_percent_of_wire_is_four_of_rate():
    base = rate_n_per_mm(4.0, 24.0, 5.0, 79500.0)
    share = 1e-6
    changed = (
        rate_n_per_mm(4.0 * (1 + share), 24.0, 5.0, 79500.0),
        rate_n_per_mm(4.0, 24.0 * (1 + share), 5.0, 79500.0),
        rate_n_per_mm(4.0, 24.0, 5.0 * (1 + share), 79500.0),
    )
    slopes = [math.log(rate / base) / share for rate in changed]
    assert slopes == pytest.approx(ALL["rate_sensitivity"].value, abs=1e-4)


def test_rate_from_loads():
    given = ALL["rate_fit"].inputs
    ALL["rate_fit"].check(rate_of_loads_n_per_mm(given["length_mm"], given["force_N"]))
    with pytest.raises(ValueError, match="two different lengths"):
        rate_of_loads_n_per_mm([30.0, 30.0], [100.0, 101.0])


@pytest.mark.parametrize("name", sorted(LEANS))
def test_lean(name):
    given = ALL[name].inputs
    ALL[name].check(lean_deg(given["e1_mm"], given["L0_mm"]))
    assert gap_mm(ALL[name].value, given["L0_mm"]) == pytest.approx(given["e1_mm"])
