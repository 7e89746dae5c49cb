"""Lengths at 20 degC. Sources: NPL, Swyt, handbook tables (references/temperature.toml)."""

import pytest

from daq.metrology.measured import Measured
from daq.metrology.temperature import (
    EXPANSIONS,
    REFERENCE_CEL,
    Expansion,
    Warmth,
    at_20,
    length_at_20_mm,
)
from tests.external.references import Reference, references

ALL = references("temperature")

# Which material of ours each published coefficient is for; two sources may speak of one material.
MATERIAL_OF = {
    "alpha_steel_gauge_block": "gauge steel",
    "alpha_steel_gauge_block_requirement": "gauge steel",
    "alpha_steel_4140": "steel",
    "alpha_stainless_304": "stainless steel",
    "alpha_grey_iron_G3000": "grey iron",
    "alpha_aluminium_356": "aluminium head",
    "alpha_bearing_bronze_C93200": "bearing bronze",
    "alpha_phosphor_bronze_C51000": "phosphor bronze",
    "alpha_valve_21_4N_Nb_20_100": "austenitic valve steel",
}
# Published, but not for a bench near 20 degC (hot valves), or a second figure for a material where
# sources differ: there the table's uncertainty must reach the other figure at twice its value.
ELSEWHERE = {"alpha_valve_21_4N_Nb_20_500", "alpha_valve_21_4N_Nb_20_700"}
SECOND_FIGURE = {"alpha_aluminium": "aluminium head", "alpha_steel_1050_ref2": "steel"}
COEFFICIENTS = [name for name in ALL if name.startswith("alpha_")]


def test_reference_temperature():
    ALL["reference_temperature"].check(REFERENCE_CEL)


@pytest.mark.parametrize("name", COEFFICIENTS)
def test_coefficient(name):
    reference = ALL[name]
    if name in MATERIAL_OF:
        reference.check(EXPANSIONS[MATERIAL_OF[name]].alpha_per_k * 1e6)
    elif name in SECOND_FIGURE:
        ours = EXPANSIONS[SECOND_FIGURE[name]]
        assert abs(reference.value * 1e-6 - ours.alpha_per_k) <= 2 * ours.u_alpha_per_k
    else:
        assert name in ELSEWHERE
        room = EXPANSIONS["austenitic valve steel"].alpha_per_k
        assert reference.value * 1e-6 > room  # why a mean over a hot range is not used


def warmed(reference: Reference) -> Measured:
    given = reference.inputs
    expansion = Expansion(given["alpha"], given.get("u_alpha", 0.0), reference.source)
    warmth = Warmth(given["T_degC"], given.get("u_T", 0.0), expansion)
    return at_20(Measured(given["L_mm"], "mm"), warmth)


@pytest.mark.parametrize(
    "name", ["npl_example", *(name for name in ALL if name.startswith("corr_"))]
)
def test_length(name):
    given = ALL[name].inputs
    ALL[name].check(length_at_20_mm(given["L_mm"], given["T_degC"], given["alpha"]))
    ALL[name].check(warmed(ALL[name]).value)


@pytest.mark.parametrize("name", [name for name in ALL if name.startswith("u_corr_")])
def test_uncertainty(name):
    ALL[name].check(warmed(ALL[name]).u)


def test_clearance_of_a_warm_pair():
    given = ALL["diff_clearance"].inputs
    warm_cel = REFERENCE_CEL + given["dT"]
    guide, stem = (
        given["d_mm"] - length_at_20_mm(given["d_mm"], warm_cel, given[f"alpha_{part}"])
        for part in ("guide", "stem")
    )
    ALL["diff_clearance"].check((guide - stem) * 1000)


def test_part_and_ring_of_one_material_equally_warm_need_no_correction():
    steel = Warmth(31.0, 0.5, EXPANSIONS["steel"])
    assert at_20(Measured(8.0, "mm"), steel, steel).value == pytest.approx(8.0, abs=1e-12)


def test_every_value_of_the_file_was_used():
    used = {"reference_temperature", "npl_example", "diff_clearance", *COEFFICIENTS}
    used |= {name for name in ALL if name.startswith(("corr_", "u_corr_"))}
    assert used == set(ALL)
