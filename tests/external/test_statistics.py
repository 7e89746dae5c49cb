"""Statistics to as many digits as can be reached. Source: NIST StRD
(fixtures/references/nist_strd.toml and its data)."""

import math

import pytest

from daq.metrology import studies
from tests.external.references import Reference, references, rows

ALL = references("nist_strd")
# Rules of the two constructed sets, as the file states them in words.
PAIRS = {"NumAcc2": (1.2, 1.1, 1.3), "NumAcc3": (1000000.2, 1000000.1, 1000000.3)}


def univariate(name: str) -> list[float]:
    if name in PAIRS:
        first, low, high = PAIRS[name]
        return [first, *[low, high] * 500]
    return [float(r["y"]) for r in rows("nist_strd_univariate.csv") if r["set"] == name]


def groups(name: str) -> list[list[float]]:
    found: dict[str, list[float]] = {}
    for row in rows("nist_strd_anova.csv"):
        if row["set"] == name:
            found.setdefault(row["group"], []).append(float(row["y"]))
    return list(found.values())


def fitted(name: str) -> studies.Line:
    chosen = [r for r in rows("nist_strd_regression.csv") if r["set"] == name]
    x, y = [float(r["x"]) for r in chosen], [float(r["y"]) for r in chosen]
    return (studies.line_through_origin if name.startswith("NoInt") else studies.line)(x, y)


COMPUTED = {
    "mean": lambda name: studies.mean(univariate(name)),
    "sd": lambda name: studies.standard_deviation(univariate(name)),
    "r1": lambda name: studies.lag_one(univariate(name)),
    "ss_between": lambda name: studies.one_way(groups(name)).between_squares,
    "ss_within": lambda name: studies.one_way(groups(name)).within_squares,
    "F": lambda name: studies.one_way(groups(name)).f_ratio,
    "B0": lambda name: fitted(name).intercept,
    "B1": lambda name: fitted(name).slope,
    "B0_sd": lambda name: fitted(name).u_intercept,
    "B1_sd": lambda name: fitted(name).u_slope,
}
# Two kinds of sets print these under one name.
SHARED = {
    "r2": (lambda n: studies.one_way(groups(n)).r_squared, lambda n: fitted(n).r_squared),
    "resid_sd": (lambda n: studies.one_way(groups(n)).residual_sd, lambda n: fitted(n).residual_sd),
}


def computed(reference: Reference) -> float:
    name, _, quantity = reference.id.partition("_")
    if quantity in SHARED:
        of_groups, of_line = SHARED[quantity]
        is_line = reference.inputs["data_file"] == "nist_strd_regression.csv"
        return (of_line if is_line else of_groups)(name)
    return COMPUTED[quantity](name)


@pytest.mark.parametrize("reference", ALL.values(), ids=ALL)
def test_digits(reference):
    certified = float(reference.value)
    digits = -math.log10(max(abs(computed(reference) / certified - 1), 1e-16))
    assert digits >= reference.inputs["digits"], f"{digits:.1f} digits"


def test_every_set_has_its_data():
    assert len(univariate("Lew")) == ALL["Lew_mean"].inputs["n"]
    assert all(len(univariate(name)) == 1001 for name in PAIRS)
