"""The lines of an uncertainty budget that several captures share, worded once.

Sources: JCGM 100:2008 (GUM) 4.3.7 (a rectangle of half-width a has the standard uncertainty
a/sqrt(3)) and F.2.2.1 (a digital step is a rectangle of the step's width).
"""

from daq.capture.base import Setup
from daq.metrology.measured import Contribution, Evaluation
from daq.metrology.uncertainty import rectangular_u, resolution_u


def resolution_line(step: float) -> Contribution:
    """The gauge shows whole steps only."""
    return Contribution(
        "resolution", resolution_u(step), Evaluation.TYPE_B, f"digital step {step:.6g}, rectangular"
    )


def gauge_lines(setup: Setup) -> tuple[Contribution, ...]:
    """The gauge's own error limit, where one was given."""
    if setup.error_limit is None:
        return ()
    return (
        Contribution(
            "error limit",
            rectangular_u(setup.error_limit),
            Evaluation.TYPE_B,
            f"largest permitted error of the gauge {setup.error_limit:.6g}, rectangular",
        ),
    )
