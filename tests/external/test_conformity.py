"""Conformity and its risks. Sources: JCGM 106, ISO 14253-1 (references/conformity.toml)."""

import pytest
from scipy import integrate, stats

from daq.metrology.conformity import Conformity, conformance_probability, guard_band, judge
from tests.external.references import Reference, references

ALL = references("conformity")
DECISIONS = {
    "conformity proved": Conformity.PROVEN_IN,
    "nonconformity proved": Conformity.PROVEN_OUT,
    "neither proved": Conformity.NEITHER,
}


def given_probability(reference: Reference) -> float:
    given = reference.inputs
    return conformance_probability(
        given["y"], given["u"], given.get("t_lower"), given.get("t_upper")
    )


@pytest.mark.parametrize("name", [name for name in ALL if name.startswith(("p74", "pc_"))])
def test_conformance_probability(name):
    ALL[name].check(given_probability(ALL[name]))


@pytest.mark.parametrize("name", [name for name in ALL if name.startswith("decision95_")])
def test_decision(name):
    given = ALL[name].inputs
    judged = judge(given["y"], given["u"], given.get("t_lower"), given.get("t_upper"))
    assert judged is DECISIONS[ALL[name].value]


def test_speed_that_proves_the_offence():
    """At the published reading the probability is the published one, and judge turns there."""
    reference = ALL["speed"]
    limit, relative, p = (reference.inputs[key] for key in ("limit", "rel_u", "p"))
    speed = limit / (1 - guard_band(p) * relative)
    reference.check(speed)
    assert conformance_probability(speed, speed * relative, limit, None) == pytest.approx(p)
    assert judge(speed + 0.01, speed * relative, None, limit, p) is Conformity.PROVEN_OUT
    assert judge(speed - 0.01, speed * relative, None, limit, p) is Conformity.NEITHER


def test_guard_bands():
    ALL["k95_one_sided"].check(guard_band(0.95))
    five = ALL["g95_tolerance_5u"]
    five.check(guard_band(0.95, five.inputs["tolerance_over_u"]))
    ALL["p_at_U"].check(conformance_probability(10.0 - 2 * 0.1, 0.1, None, 10.0))


def accepted(true: float, given: dict[str, float]) -> float:
    """A part is accepted when it reads inside; normal errors make that the same formula."""
    return conformance_probability(true, given["u_meas"], given["a_lower"], given["a_upper"])


def test_risks_of_the_resistor_process():
    inside = ALL["res_p_process"]
    given = inside.inputs
    process = stats.norm(given["process_mean"], given["process_sd"])
    limits = given["t_lower"], given["t_upper"]
    inside.check(conformance_probability(given["process_mean"], given["process_sd"], *limits))

    def share(low: float, high: float, given: dict[str, float]) -> float:
        return integrate.quad(
            lambda true: process.pdf(true) * accepted(true, given), low, high, epsabs=1e-12
        )[0]

    far = 10 * given["process_sd"]
    bad = [(limits[0] - far, limits[0]), (limits[1], limits[1] + far)]
    ALL["res_consumer"].check(sum(share(*ends, ALL["res_consumer"].inputs) for ends in bad))
    simple = ALL["res_producer_simple"]
    simple.check(inside.value - share(*limits, simple.inputs))


def test_every_value_of_the_file_was_used():
    named = {"speed", "k95_one_sided", "g95_tolerance_5u", "p_at_U", "p74"}
    named |= {"res_p_process", "res_consumer", "res_producer_simple"}
    named |= {name for name in ALL if name.startswith(("pc_", "decision95_"))}
    assert named == set(ALL)
