"""Uncertainty. Sources: JCGM 100:2008 annexes G and H, JCGM 101:2008
(fixtures/references/gum.toml).

Our budgets are first order with normal or Student intervals; the examples of JCGM 101 tell how far
that carries. Where it does not carry (a product of two uncertain things, a square near zero) the
test says by how much it falls short: such models are not to be budgeted this way.
"""

import math

import numpy as np
import pytest

from daq.metrology import studies
from daq.metrology.measured import combined
from daq.metrology.uncertainty import (
    Part,
    arcsine_u,
    covariance,
    coverage_factor,
    effective_degrees_of_freedom,
    propagated,
    rectangular_u,
    sensitivities,
)
from tests.external.references import Reference, references

ALL = references("gum")


def rectangle(half_width: float, value: float = 0.0) -> tuple[float, float, float]:
    """Value, standard uncertainty and degrees of freedom."""
    return value, rectangular_u(half_width), math.inf


class EndGauge:
    """H.1: a length by comparison, from the inputs of the file."""

    def __init__(self) -> None:
        given = ALL["h1_length"].inputs
        self.d_parts = [Part(given[f"u_{n}"], given[f"nu_{n}"]) for n in ("d0", "d1", "d2")]
        self.u_theta = combined([given["u_theta_bar"], arcsine_u(given["arcsine_half_width"])])
        inputs = {
            "l_s": (given["l_s_nm"], given["u_l_s"], given["nu_l_s"]),
            "d": (
                given["d_nm"],
                combined(part.u for part in self.d_parts),
                effective_degrees_of_freedom(self.d_parts),
            ),
            "alpha_s": rectangle(given["half_width_alpha_s"], given["alpha_s"]),
            "theta": (given["theta_bar"], self.u_theta, math.inf),
            "delta_alpha": (
                0.0,
                rectangular_u(given["half_width_delta_alpha"]),
                given["nu_delta_alpha"],
            ),
            "delta_theta": (
                0.0,
                rectangular_u(given["half_width_delta_theta"]),
                given["nu_delta_theta"],
            ),
        }
        self.values = [each[0] for each in inputs.values()]
        self.u = [each[1] for each in inputs.values()]
        row = sensitivities(self.length, self.values, self.u)[0]
        self.parts = {
            name: Part(abs(float(c)) * u, freedom)
            for c, (name, (_, u, freedom)) in zip(row, inputs.items(), strict=True)
        }

    @staticmethod
    def length(x: np.ndarray) -> np.ndarray:
        l_s, d, alpha_s, theta, delta_alpha, delta_theta = x
        return np.array([l_s + d - l_s * (delta_alpha * theta + alpha_s * delta_theta)])


def end_gauge(name: str) -> float:
    gauge = EndGauge()
    return {
        "h1_length": lambda: float(gauge.length(np.array(gauge.values))[0]),
        "h1_u_d": lambda: combined(ALL["h1_u_d"].inputs["terms"]),
        "h1_u_alpha_s": lambda: rectangular_u(ALL["h1_u_alpha_s"].inputs["half_width"]),
        "h1_u_theta": lambda: gauge.u_theta,
        "h1_contribution_delta_alpha": lambda: gauge.parts["delta_alpha"].u,
        "h1_contribution_delta_theta": lambda: gauge.parts["delta_theta"].u,
        "h1_u_c": lambda: combined(part.u for part in gauge.parts.values()),
        "h1_nu_eff_d": lambda: effective_degrees_of_freedom(gauge.d_parts),
        "h1_nu_eff": lambda: effective_degrees_of_freedom(gauge.parts.values()),
        "h1_t99_16": lambda: coverage_factor(0.99, 16),
    }[name]()


def impedance(name: str) -> float:
    """H.2: resistance, reactance and impedance from correlated means."""
    given = ALL[name].inputs
    series = [given[key] for key in ("V_volt", "I_ampere", "phi_rad")]
    means, u = [studies.mean(s) for s in series], [studies.u_of_mean(s) for s in series]
    between = np.array([[studies.correlation(a, b) for a in series] for b in series])

    def model(x: np.ndarray) -> np.ndarray:
        volt, ampere, phi = x
        z = volt / ampere
        return np.array([z * np.cos(phi), z * np.sin(phi), z])

    outputs = model(np.array(means))
    rates = sensitivities(model, means, u)
    of = propagated(rates, covariance(u, between))
    alone = propagated(rates, covariance(u))
    width = np.sqrt(np.diag(of))
    return float(
        {
            "h2_mean_V": means[0],
            "h2_u_V": u[0],
            "h2_u_phi": u[2],
            "h2_r_V_I": between[0, 1],
            "h2_r_I_phi": between[1, 2],
            "h2_R": outputs[0],
            "h2_X": outputs[1],
            "h2_u_X": width[1],
            "h2_u_Z": width[2],
            "h2_r_R_X": of[0, 1] / (width[0] * width[1]),
            "h2_r_X_Z": of[1, 2] / (width[1] * width[2]),
            "h2_u_R_no_correlation": math.sqrt(alone[0, 0]),
        }[name]
    )


def thermometer(name: str) -> float:
    """H.3: a calibration line."""
    given = ALL[name].inputs
    from_t0 = [t - given["t0_degC"] for t in given["t_degC"]]
    line = studies.line(from_t0, given["b_degC"])
    return {
        "h3_intercept": line.intercept,
        "h3_slope": line.slope,
        "h3_u_slope": line.u_slope,
        "h3_s": line.residual_sd,
        "h3_b30": line.at(10.0),
    }[name]


def small(name: str) -> float:
    """G.4.1 and table 1."""
    given = ALL[name].inputs
    if name.startswith("g41"):
        pairs = zip(given["rel_u_percent"], given["n"], strict=True)
        parts = [Part(u, n - 1) for u, n in pairs]
        if name == "g41_uc":
            return combined(part.u for part in parts)
        return effective_degrees_of_freedom(parts)
    readings = given["t_degC"]
    return studies.mean(readings) if name == "t1_mean" else studies.standard_deviation(readings)


FIRST_ORDER = {"h1": end_gauge, "h2": impedance, "h3": thermometer, "g41": small, "t1": small}


def is_first_order(reference: Reference) -> bool:
    return not reference.id.startswith("s1_")


@pytest.mark.parametrize("name", [r.id for r in ALL.values() if is_first_order(r)])
def test_value(name):
    ALL[name].check(FIRST_ORDER[name.partition("_")[0]](name))


def first_order(model, values, u) -> tuple[float, float]:
    rates = sensitivities(model, values, u)
    variance = propagated(rates, covariance(u))[0, 0]
    return float(np.atleast_1d(model(np.array(values)))[0]), math.sqrt(variance)


def test_s1_sums():
    """Four equal inputs: exact when they are normal, on the safe side when they are rectangular."""
    _, u = first_order(lambda x: np.array([x.sum()]), [0.0] * 4, [1.0] * 4)
    reach = coverage_factor(0.95) * u
    ALL["s1_add_normal"].check(reach)
    rectangles = ALL["s1_add_rect"].value
    assert rectangles < reach < 1.02 * rectangles


def test_s1_mass_shows_where_first_order_ends():
    """At these inputs every first derivative of the buoyancy is zero: JCGM 101 table 6."""
    u = [0.050, 0.020, rectangular_u(0.10), rectangular_u(1000.0), rectangular_u(50.0)]

    def deviation_mg(x: np.ndarray) -> np.ndarray:
        reference_mg, extra_mg, air, weight, of_reference = x
        buoyancy = (air - 1.2) * (1 / weight - 1 / of_reference)
        return np.array([(reference_mg + extra_mg) * (1 + buoyancy) - 100000.0])

    value, first = first_order(deviation_mg, [100000.0, 1.234, 1.2, 8000.0, 8000.0], u)
    assert value == pytest.approx(1.234)
    assert first == pytest.approx(math.hypot(0.050, 0.020), rel=1e-3)
    # What is missing is the product term air x density, whose size is known in closed form.
    product = 100001.234 * u[2] * math.hypot(u[3], u[4]) / 8000.0**2
    missing = math.sqrt(ALL["s1_mass_u_mcm"].value ** 2 - first**2)
    assert product == pytest.approx(missing, rel=0.05)


@pytest.mark.parametrize(("name", "x1"), [("0", 0.0), ("2", 0.05)])
def test_s1_comparison_loss(name, x1):
    """x1^2 + x2^2: far from zero first order is close, at zero it sees nothing at all."""
    u_in = 0.005
    value, u = first_order(lambda x: np.array([(x**2).sum()]), [x1, 0.0], [u_in, u_in])
    mean, spread = (ALL[f"s1_loss_{what}_{name}"].value * 1e-6 for what in ("mean", "u"))
    assert mean == pytest.approx(value + 2 * u_in**2, rel=1e-9)
    if x1 == 0.0:
        assert u == pytest.approx(0.0, abs=1e-9)
        assert ALL["s1_loss_upper_0"].value * 1e-6 > 2 * u
    else:
        assert u == pytest.approx(spread, rel=0.01)
        assert u < spread


def test_s1_end_gauge_is_wider_than_first_order():
    """H.1 by simulation (JCGM 101 table 11): few degrees of freedom widen it; ours says 31.7."""
    gauge = EndGauge()
    assert gauge.parts["delta_theta"].degrees_of_freedom == 2
    u = combined(part.u for part in gauge.parts.values())
    simulated = ALL["s1_gauge_u"].value
    assert u < simulated
    freedom = effective_degrees_of_freedom(gauge.parts.values())
    # Student's t of the first-order budget holds what the simulation holds.
    assert coverage_factor(0.95, freedom) * u >= 0.9 * coverage_factor(0.95) * simulated


def test_every_value_of_the_file_was_used():
    simulated = {"s1_add_normal", "s1_add_rect", "s1_mass_u_mcm", "s1_gauge_u", "s1_loss_upper_0"}
    simulated |= {f"s1_loss_{what}_{name}" for what in ("mean", "u") for name in ("0", "2")}
    assert simulated == {
        reference.id for reference in ALL.values() if not is_first_order(reference)
    }
