"""Leaks. Sources: 40 CFR 1065.644, NIST flow standards, ideal gas law (references/leak.toml)."""

import pytest

from daq.metrology.leak import (
    MBAR_PER_INHG,
    GasState,
    below_ambient_mbar,
    decay_time_s,
    leak_mbar_l_s,
    mol_s_of,
    mol_s_of_sccm,
    molar_leak_mol_s,
    sccm_of,
    settling_change_mbar,
)
from tests.external.references import Reference, references

ALL = references("leak")


def cfr(given: dict[str, float]) -> float:
    before = GasState(given["p1_Pa"], given["T1_K"])
    after = GasState(given["p2_Pa"], given["T2_K"])
    return molar_leak_mol_s(given["V_m3"], before, after, given["t_s"], given["R"])


def decay(given: dict[str, float]) -> tuple[float, float, float]:
    """Time constant, vacuum left, and the two-point estimate of the leak."""
    start, volume = given["p0_mbar_below_ambient"], given["V_l"]
    tau = decay_time_s(start, volume, given["Q_mbar_l_s_at_p0"])
    time_s = given.get("t_s", 1.0)
    left = below_ambient_mbar(start, time_s, tau)
    return tau, left, leak_mbar_l_s(volume, start - left, time_s)


def computed(reference: Reference) -> float:
    given, name = reference.inputs, reference.id
    if name.startswith("decay_"):
        return dict(zip(("tau", "p", "secant"), decay(given), strict=True))[name.split("_")[1]]
    if name.startswith(("Q_", "sccm_0", "sccm_1")):
        leak = leak_mbar_l_s(given["V_l"], given["dp_mbar"], given["t_s"])
        return leak if name.startswith("Q_") else sccm_of(mol_s_of(leak, given["gas_degC"]))
    one_sccm = 1.0
    return {
        "cfr_molar": lambda: cfr(given),
        # Pa m3 to mbar l: a factor of 10.
        "cfr_pV": lambda: leak_mbar_l_s(
            given["V_m3"] * 1000, (given["p2_Pa"] - given["p1_Pa"]) / 100, given["t_s"]
        ),
        "umol_to_sccm": lambda: sccm_of(given["umol_per_s"] * 1e-6),
        # From amount of gas back to pressure times volume: linear, so by the ratio.
        "sccm_to_mbar_l_s": lambda: mol_s_of_sccm(one_sccm) / mol_s_of(1.0, 0.0),
        "sccm_to_mol_s": lambda: mol_s_of_sccm(given["sccm"]),
        "pubcalc_5L": lambda: leak_mbar_l_s(
            given["V_l"], given["p1_mbar"] - given["p2_mbar"], given["t_s"]
        ),
        "thermal_false_leak": lambda: settling_change_mbar(
            given["p_mbar_abs"], given["dT_K"], given["T_K"]
        ),
        "inHg_to_mbar": lambda: MBAR_PER_INHG,
    }[name]()


@pytest.mark.parametrize("reference", ALL.values(), ids=ALL)
def test_value(reference):
    reference.check(computed(reference))
