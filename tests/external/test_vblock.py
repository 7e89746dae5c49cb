"""Transfer factors of V-blocks: a derivation checked by simulation, a published formula.

Source of each row: fixtures/references/vblock.toml and vblock_factors.csv.
"""

import pytest

from daq.metrology.vblock import Tip, axis_motion, blindness, factor, hidden_lobes, two_point
from tests.external.references import references, rows

VALUES = references("vblock")


def _factor(row: dict[str, str]) -> complex | float:
    lobes, angle, beta = int(row["n"]), float(row["v_angle_deg"]), float(row["beta_deg"])
    match row["method"]:
        case "summit" | "asymmetrical":
            return factor(lobes, angle, beta)
        case "rider":
            return factor(lobes, angle, beta, Tip.RIDER)
        case "two-point":
            return two_point(lobes)
        case "axis-motion":
            return axis_motion(lobes, angle)
    raise AssertionError(row["method"])


@pytest.mark.parametrize(
    "row", rows("vblock_factors.csv"), ids=lambda r: f"{r['method']}-{r['v_angle_deg']}-{r['n']}"
)
def test_factor(row: dict[str, str]) -> None:
    got = _factor(row)
    stated = float(row["factor"])
    if row["method"] == "asymmetrical":
        assert abs(got) == pytest.approx(abs(stated), abs=float(row["tolerance"]))
    else:
        assert got == pytest.approx(stated, abs=float(row["tolerance"]))


@pytest.mark.parametrize("angle", [60, 90, 120])
def test_what_a_v_cannot_see(angle: int) -> None:
    assert list(hidden_lobes(angle)) == VALUES[f"invisible_{angle}"].value


@pytest.mark.parametrize("name", ["reading_90_n3", "reading_90_n2", "reading_60_n2"])
def test_indicator_reading_of_lobes(name: str) -> None:
    reference = VALUES[name]
    given = reference.inputs
    reference.check(2 * given["amplitude_mm"] * abs(factor(given["n"], given["v_angle_deg"])))


def test_false_runout_of_a_round_section() -> None:
    reference = VALUES["false_runout_90_n3"]
    given = reference.inputs
    reference.check(2 * given["amplitude_mm"] * abs(axis_motion(given["n"], given["v_angle_deg"])))


@pytest.mark.parametrize("angle", [60.0, 72.0, 90.0, 108.0, 120.0])
def test_eccentricity_of_the_supported_section_is_never_seen(angle: float) -> None:
    VALUES["eccentricity_blind"].check(abs(factor(1, angle)))
    assert 1 in blindness(angle).hidden
    assert f"{angle:g} deg" in blindness(angle).sentence


def test_an_angle_no_v_block_has_is_refused() -> None:
    with pytest.raises(ValueError, match="cannot be"):
        factor(3, 180.0)
