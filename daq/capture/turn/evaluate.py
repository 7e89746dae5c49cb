"""One trace of a turned part, from readings to runout: every step in order, no state, no clock."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from daq.capture.base import Captured, Kind, Setup
from daq.capture.turn import noise, period, points, runout, sight, trim
from daq.capture.turn.level import smoothed
from daq.capture.turn.proof import Proof, weigh
from daq.metrology.measured import Contribution, Evaluation, Measured

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

NAMED_LINT_MAX = 200
STILL_NOISES = 5.0
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
    """captured: the result. turns, still_s, left, looks_swayed, too_fast, moved: for `done` and
    the page."""

    captured: Captured
    turns: float | None
    evidence: float
    still_s: float
    left: bool
    proof: Proof
    moved: bool


def evaluate(trace: Trace, setup: Setup) -> Seen:
    """What a trace shows. Pure: the same readings always give the same answer."""
    piece = trim.on_the_blocks(trace.value_mm, trace.ok)
    inside = np.flatnonzero(trace.ok[piece.first : piece.last]) + piece.first
    if len(inside) == 0:
        return _nothing()
    value = trace.value_mm[inside]
    step = setup.resolution if setup.resolution is not None else noise.step_mm(value)
    pressed = bool(trace.pressed[trace.mark].any())
    seen = sight.best(sight.Readings(trace.t_s[inside], value, trace.mark[inside], pressed, step))
    turning, repeat, marks = seen.points, seen.repeat, seen.marks
    value_of = _value(turning, repeat, seen.level_mm, setup, step)
    proof = weigh(
        turning, repeat, seen.width_mm, marks,
        one_way=setup.one_way, counted=pressed, unseen_mm=value_of.unseen_mm,
    )  # fmt: skip
    rest_mm = max(STILL_NOISES * seen.noise_mm, turning.swing_mm / 2.0)
    still_s = _still_s(seen.t_s, seen.level_mm, rest_mm)
    rejected = inside[seen.rejected]
    detail = _detail(trace, rejected, value_of, proof, repeat, seen.noise_mm, step)
    captured = Captured(
        Kind.TURN, value_of.measured, bool(proof.kind), proof.reason, _warnings(proof), detail
    )
    evidence = np.inf if marks.whole_turns else seen.evidence
    return Seen(captured, proof.turns, evidence, still_s, piece.left, proof, len(turning) > 1)


def _nothing() -> Seen:
    reason = "No reading of the gauge carried a number. Check the gauge and its cable."
    proof = Proof("", None, reason, looks_swayed=False, too_fast=False)
    captured = Captured(Kind.TURN, None, complete=False, reason=reason, detail={"rejected": []})
    return Seen(captured, None, 0.0, 0.0, left=False, proof=proof, moved=False)


def _still_s(t_s: Floats, level: Floats, room_mm: float) -> float:
    """For how long the trace has rested at its end, in seconds."""
    last = float(np.median(level[-5:]))
    away = np.flatnonzero(np.abs(level - last) > room_mm)
    since = int(away[-1]) if len(away) else 0
    return float(t_s[-1] - t_s[since])


def _value(
    turning: points.Points,
    repeat: period.Period | None,
    level: Floats,
    setup: Setup,
    step: float,
) -> runout.Runout:
    if len(turning) > 1:
        return runout.of_turns(turning, repeat, setup, step)
    # No swing larger than the noise: all that is known is that the runout is smaller than one.
    span = float(np.ptp(smoothed(level, SPAN_READINGS)[0]))
    half = turning.swing_mm / 2.0
    line = Contribution(
        "noise", half / 3.0**0.5, Evaluation.TYPE_B, "no swing stands out of the noise"
    )
    return runout.Runout(Measured(min(span, half), "mm", (line,)), ())


def _warnings(proof: Proof) -> tuple[str, ...]:
    words: list[str] = []
    if proof.looks_swayed:
        words.append("Passages of this trace mirror each other: it looks swayed, not turned.")
    if proof.too_fast:
        words.append("Few readings fell on a turn. Turn slower for a better figure.")
    return tuple(words)


def _detail(
    trace: Trace,
    rejected: npt.NDArray[np.intp],
    value: runout.Runout,
    proof: Proof,
    repeat: period.Period | None,
    noise_mm: float,
    step_mm: float,
) -> dict[str, Any]:
    named = [
        {"t_s": float(trace.t_s[at]), "value": float(trace.value_mm[at])}
        for at in rejected[:NAMED_LINT_MAX]
    ]
    return {
        "proof": proof.kind or None,
        "turns": None if proof.turns is None else round(proof.turns, 2),
        "looks_swayed": proof.looks_swayed,
        "runout_per_turn_mm": list(value.per_turn_mm),
        "rejected": named,
        "rejected_count": len(rejected),
        "points_a_turn": repeat.size if repeat else None,
        "slips": repeat.slips if repeat else None,
        "evidence": round(repeat.evidence, 2) if repeat else None,
        "drift_mm_per_s": repeat.drift_mm_per_s if repeat else None,
        "noise_mm": noise_mm,
        "step_mm": step_mm,
        "budget": [
            {"name": line.name, "u_mm": line.u, "type": line.evaluation.value, "note": line.note}
            for line in value.measured.budget
        ],
    }
