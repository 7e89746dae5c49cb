"""Reference circles. Sources: ISO 12181-1, ISO 4291, Gander-Golub-Strebel 1994
(fixtures/references/roundness.toml)."""

import numpy as np
import pytest

from daq.metrology.circles import (
    Circle,
    least_squares,
    limacon,
    maximum_inscribed,
    minimum_circumscribed,
    minimum_zone,
)
from tests.external.references import references, rows

ALL = references("roundness")
FITS = {
    "lsc": least_squares,
    "mzc": minimum_zone,
    "mcc": minimum_circumscribed,
    "mic": maximum_inscribed,
}
QUANTITIES = {
    "x": lambda circle: circle.x,
    "y": lambda circle: circle.y,
    "radius": lambda circle: circle.radius,
    "r": lambda circle: circle.radius,
    "inner_radius": lambda circle: circle.radius - circle.valley,
    "outer_radius": lambda circle: circle.radius + circle.peak,
    "RONt": lambda circle: circle.total,
    "RONp": lambda circle: circle.peak,
    "RONv": lambda circle: circle.valley,
    "RONq": lambda circle: circle.root_mean_square,
}


def points(name: str) -> np.ndarray:
    chosen = [row for row in rows("roundness_points.csv") if row["set"] == name]
    return np.array([(float(row["x_mm"]), float(row["y_mm"])) for row in chosen])


def fitted(set_name: str, fit: str) -> Circle:
    return FITS[fit](points(set_name))


@pytest.mark.parametrize("name", [name for name in ALL if name.startswith("rnd_")])
def test_circle(name):
    reference = ALL[name]
    fit, _, quantity = name.removeprefix(reference.inputs["set"] + "_").partition("_")
    reference.check(QUANTITIES[quantity](fitted(reference.inputs["set"], fit)))


@pytest.mark.parametrize("name", [name for name in ALL if name.startswith("ggs_geometric_")])
def test_six_point_example(name):
    ALL[name].check(QUANTITIES[name.rpartition("_")[2]](fitted("ggs", "lsc")))


def test_limacon():
    radii = ALL["limacon_a"].inputs["radial_deviation_um"]
    x, y, span = limacon(radii)
    ALL["limacon_a"].check(x)
    ALL["limacon_b"].check(y)
    ALL["limacon_RONt"].check(span)
    ALL["limacon_fim"].check(max(radii) - min(radii))


def test_every_value_of_the_file_was_used():
    limacons = {"limacon_a", "limacon_b", "limacon_RONt", "limacon_fim"}
    rest = set(ALL) - limacons
    assert all(name.startswith(("rnd_", "ggs_geometric_")) for name in rest)
