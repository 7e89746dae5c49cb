"""Indicator errors. Sources: ISO 463 and its draft of 2025, JIS B 7503:2011
(fixtures/references/indicator.toml, indicator_limits.csv)."""

from itertools import pairwise

import pytest

from daq.metrology.conformity import Conformity, judge
from daq.metrology.indicator import (
    Run,
    hysteresis_um,
    largest_um,
    partial_um,
    repeatability_um,
    span_um,
    worst_partial_um,
)
from daq.metrology.uncertainty import resolution_u
from tests.external.references import Reference, references, rows

ALL = references("indicator")


def run(reference: Reference) -> Run:
    given = reference.inputs
    return Run(given["position_mm"], given["forward_um"], given["reverse_um"])


COMPUTED = {
    "span_forward": lambda r: span_um(run(r).forward_um),
    "max_abs_forward": lambda r: largest_um(run(r)),
    "hysteresis": lambda r: hysteresis_um(run(r)),
    "partial_0_0p5": lambda r: partial_um(run(r), 0.0, 0.5),
    "partial_any_2mm": lambda r: worst_partial_um(run(r), 2.0, 1.0),
    "repeatability_range": lambda r: repeatability_um(r.inputs["readings_mm"]),
    "digital_step_u": lambda r: resolution_u(r.inputs["step_um"]),
}


@pytest.mark.parametrize("reference", ALL.values(), ids=ALL)
def test_value(reference):
    reference.check(COMPUTED[reference.id](reference))


# The spans that a printed limit of an indicator with 0.01 mm graduation (1 mm a turn) speaks of.
SPANS = {
    "error_1_10_rev": lambda r: worst_partial_um(r, 0.1, 0.0),
    "error_1_2_rev": lambda r: worst_partial_um(r, 0.5, 0.0),
    "error_1_rev": lambda r: worst_partial_um(r, 1.0, 0.0),
    "error_whole_range": lambda r: span_um(r.forward_um),
    "hysteresis": hysteresis_um,
}


def limits_by_gauge() -> dict[tuple[str, str, str], dict[str, float]]:
    gauges: dict[tuple[str, str, str], dict[str, float]] = {}
    for row in rows("indicator_limits.csv"):
        gauge = row["graduation_mm"], row["measuring_range_mm"], row["type"]
        gauges.setdefault(gauge, {})[row["characteristic"]] = float(row["mpe_um"])
    return gauges


@pytest.mark.parametrize("gauge", limits_by_gauge(), ids="/".join)
def test_a_longer_range_never_has_the_smaller_limit_nor_error(gauge):
    """What the printed table and our characteristics must have in common."""
    order = ["error_1_10_rev", "error_1_2_rev", "error_1_rev", "error_whole_range"]
    printed = limits_by_gauge()[gauge]
    ours = [SPANS[name](run(ALL["span_forward"])) for name in order]
    assert all(printed[a] <= printed[b] for a, b in pairwise(order))
    assert all(a <= b for a, b in pairwise(ours))


def test_the_made_up_run_against_printed_limits():
    """A good indicator of 10 mm by the table; the same run is no good one of 0.001 mm."""
    u_um = 0.2
    of_ten = limits_by_gauge()["0.01", "5-10", "bezel 50 mm and over"]
    of_fine = limits_by_gauge()["0.001", "<=1", "bezel 50 mm and over"]
    for name, span in SPANS.items():
        error_um = span(run(ALL["span_forward"]))
        assert judge(error_um, u_um, None, of_ten[name]) is Conformity.PROVEN_IN, name
    doubled = Run(
        ALL["span_forward"].inputs["position_mm"],
        [2 * e for e in ALL["span_forward"].inputs["forward_um"]],
        [2 * e for e in ALL["span_forward"].inputs["reverse_um"]],
    )
    assert (
        judge(span_um(doubled.forward_um), u_um, None, of_fine["error_whole_range"])
        is Conformity.PROVEN_OUT
    )
