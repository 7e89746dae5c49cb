"""One trace of a turned part, from readings to runout: every step in order, no state, no clock."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from daq.capture.base import Setup
from daq.capture.turn import arrival, nick, noise, runout, trim
from daq.capture.turn.level import smoothed
from daq.capture.turn.proof import EVIDENCE_ONE_WAY_MIN, Proof, weigh
from daq.capture.turn.sight import Readings, Sight, best
from daq.metrology.measured import Contribution, Evaluation, Measured

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

STILL_NOISES = 5.0
NM_PER_MM = 1_000_000
SPAN_READINGS = 25


@dataclass(frozen=True, slots=True)
class Trace:
    """All readings of a capture: times in s, values in mm (NaN where not a number), and marks."""

    t_s: Floats
    value_mm: Floats
    ok: Bools
    mark: Bools
    pressed: Bools


@dataclass(frozen=True, slots=True)
class Seen:
    """What a trace shows, before it is put into words.

    sight and value: None when no reading carried a number. rejected: indices in the trace of
    readings taken for lint. still_s: how long the trace has rested at its end. left: the part
    went away. origin_mm: the reading that levels are counted from.
    """

    sight: Sight | None
    value: runout.Runout | None
    proof: Proof
    rejected: npt.NDArray[np.intp]
    step_mm: float = 0.0
    still_s: float = 0.0
    left: bool = False
    origin_mm: float = 0.0

    @property
    def complete(self) -> bool:
        """A whole turn is proven."""
        return bool(self.proof.kind)

    @property
    def moved(self) -> bool:
        """Some swing stands out of the noise."""
        return self.sight is not None and len(self.sight.points) > 1

    @property
    def evidence(self) -> float:
        """Natural logarithm of the odds for the turn; a mark that came again leaves no doubt."""
        if self.sight is None:
            return 0.0
        return np.inf if self.sight.marks.whole_turns else self.sight.evidence


def evaluate(trace: Trace, setup: Setup) -> Seen:
    """What a trace shows. Pure: the same readings always give the same answer."""
    piece = trim.on_the_blocks(trace.t_s, trace.value_mm, trace.ok)
    inside = np.flatnonzero(trace.ok[piece.first : piece.last]) + piece.first
    if len(inside) == 0:
        reason = "No reading of the gauge carried a number. Check the gauge and its cable."
        return Seen(None, None, Proof("", None, reason, looks_swayed=False, too_fast=False), inside)
    readings, seen = _look(trace, inside, setup)
    way = arrival.readings_of_the_way(readings.t_s, seen.points)
    if way:
        inside = inside[way:]
        readings, seen = _look(trace, inside, setup)
    step_mm = readings.step_mm
    value = _value(seen, setup, step_mm)
    proof = weigh(
        seen.points, seen.repeat, seen.width_mm, seen.marks,
        one_way=setup.one_way, counted=readings.pressed, turned=setup.turned,
        runout_mm=value.measured.value, unseen_mm=value.unseen_mm, step_mm=step_mm,
    )  # fmt: skip
    if proof.kind and nick.comes_again(
        readings.t_s, readings.level_mm, seen.rejected, seen.points, seen.repeat
    ):
        proof = replace(proof, kind="", reason=nick.REASON)
    rest_mm = max(STILL_NOISES * seen.noise_mm, seen.points.swing_mm / 2.0)
    still_s = _still_s(seen.t_s, seen.level_mm, rest_mm)
    origin_mm = float(_nanometres(trace, inside)[0]) / NM_PER_MM
    return Seen(seen, value, proof, inside[seen.rejected], step_mm, still_s, piece.left, origin_mm)


def _look(trace: Trace, inside: npt.NDArray[np.intp], setup: Setup) -> tuple[Readings, Sight]:
    """These readings, and what they show."""
    # Taken from the first reading on the nanometre grid that readings lie on: where the gauge
    # happens to stand makes no difference then, not even in the last bit.
    nanometres = _nanometres(trace, inside)
    level_mm = (nanometres - nanometres[0]) / NM_PER_MM
    # A config may promise more than the display shows; rounding is as coarse as what is seen.
    step_mm = max(setup.resolution or 0.0, noise.step_mm(level_mm))
    pressed = bool(trace.pressed[trace.mark].any())
    readings = Readings(
        trace.t_s[inside], level_mm, trace.mark[inside], pressed, setup.one_way, step_mm
    )
    return readings, best(readings)


def _nanometres(trace: Trace, inside: npt.NDArray[np.intp]) -> Floats:
    return np.rint(trace.value_mm[inside] * NM_PER_MM)


def _still_s(t_s: Floats, level: Floats, room_mm: float) -> float:
    """For how long the trace has rested at its end, in seconds."""
    last = float(np.median(level[-5:]))
    away = np.flatnonzero(np.abs(level - last) > room_mm)
    since = int(away[-1]) if len(away) else 0
    return float(t_s[-1] - t_s[since])


def _value(seen: Sight, setup: Setup, step_mm: float) -> runout.Runout:
    if len(seen.points) > 1:
        # A repeat that may be chance is not averaged over: the span of what was seen stands.
        trusted = seen.repeat if seen.evidence >= EVIDENCE_ONE_WAY_MIN else None
        return runout.of_turns(seen.points, trusted, setup, step_mm)
    # No swing larger than the noise: all that is known is that the runout is smaller than one.
    span = float(np.ptp(smoothed(seen.level_mm, SPAN_READINGS)[0]))
    half = seen.points.swing_mm / 2.0
    line = Contribution(
        "noise", half / 3.0**0.5, Evaluation.TYPE_B, "no swing stands out of the noise"
    )
    return runout.Runout(Measured(min(span, half), "mm", (line,)), ())
