"""A leak: loss of pressure times the volume under test (Q = V dp/dt), in mbar·l/s."""

from daq.head.step import Step
from daq.metrology.leak import leak_mbar_l_s
from daq.metrology.measured import Contribution, Evaluation, Measured

UNIT = "mbar.l/s"
RATE_UNIT = "mbar/s"
LEAK_STEP = 0.001
# A volume of port, hose and adapter, measured by filling it: 5 % either way (common practice, no
# source).
VOLUME_SHARE = 0.05


def as_leak(step: Step | None, lost: Measured) -> Measured:
    """The leak behind a loss in mbar/s; `lost` as it is where the plan names no volume."""
    if step is None or step.volume_l is None:
        return lost
    volume_l = float(step.volume_l)
    value = leak_mbar_l_s(volume_l, lost.value, 1.0)
    lines = tuple(
        Contribution(line.name, line.u * volume_l, line.evaluation, line.note)
        for line in lost.budget
    )
    volume = Contribution(
        "volume",
        abs(value) * VOLUME_SHARE / 3**0.5,
        Evaluation.TYPE_B,
        f"{step.volume_l} l within 5 %, rectangular",
    )
    return Measured(value, UNIT, (*lines, volume))
