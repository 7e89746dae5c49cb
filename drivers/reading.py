"""`Reading`: one number from a gauge with its time; the one type that leaves `drivers`.

Units are made canonical before a reading exists: an inch line becomes millimetres in the gauge,
so nothing to the right of this folder ever sees an inch. To make a stored trace reproduce its
value bit for bit, both numbers are kept on a fixed grid: `value` is a whole number of millionths
of its unit (a nanometre for lengths: 0.0001 in is exactly 2540 of them) and `t_s` a whole number
of 0.1 ms.
"""

from decimal import ROUND_HALF_EVEN, Decimal
from enum import StrEnum
from typing import NamedTuple

VALUE_STEPS_PER_UNIT = 1_000_000
TIME_STEPS_PER_S = 10_000
MM_PER_INCH = Decimal("25.4")


class Unit(StrEnum):
    """The canonical units, named by their UCUM codes."""

    MM = "mm"
    DEG = "deg"
    MBAR = "mbar"
    NEWTON = "N"
    CELSIUS = "Cel"


class State(StrEnum):
    """What the gauge said about its own number. Only an OK reading carries a number."""

    OK = "ok"
    OVER_RANGE = "over-range"
    LOW_BATTERY = "low-battery"
    ERROR = "error"


class Reading(NamedTuple):
    """One number from one gauge.

    gauge: the gauge's name on this bench. channel: its letter or number where several share a
    port, else "". t_s: arrival time in seconds of the bench's steady clock, never wall time.
    value: in `unit`; NaN unless `state` is OK, so that an error code can never be computed with.
    mark: a once-per-turn index, or a counted press, passed with this reading. commit: the gauge's
    own data button sent it.
    """

    gauge: str
    channel: str
    t_s: float
    value: float
    unit: Unit
    state: State = State.OK
    mark: bool = False
    commit: bool = False


def on_value_grid(value: Decimal) -> float:
    """The float nearest to `value` rounded to a millionth of its unit."""
    return int((value * VALUE_STEPS_PER_UNIT).to_integral_value(ROUND_HALF_EVEN)) / (
        VALUE_STEPS_PER_UNIT
    )


def on_time_grid(t_s: float) -> float:
    """`t_s` rounded to 0.1 ms."""
    return round(t_s * TIME_STEPS_PER_S) / TIME_STEPS_PER_S
