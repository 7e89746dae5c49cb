"""One trace of a turned part, from readings to runout: every step in order, no state, no clock."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from daq.capture.base import Captured, Kind, Setup
from daq.capture.turn import lint, noise, period, points, runout, trim
from daq.capture.turn.level import smoothed
from daq.capture.turn.marks import joined, passages
from daq.capture.turn.proof import Proof, weigh
from daq.metrology.measured import Contribution, Evaluation, Measured

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# More readings than this are averaged in blocks before the turning points are sought, so that
# the work on one trace is bounded. At 1000/s it is the first 20 s that keep every reading.
ANALYSED_READINGS_MAX = 20_000
NAMED_LINT_MAX = 200
STILL_NOISES = 5.0


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
    split = lint.reject(value, noise.noise_mm(value, step))
    kept = inside[split.kept]
    t_s, level = trace.t_s[kept], trace.value_mm[kept]
    marks_at = _marks_among(kept, np.flatnonzero(trace.mark))
    t_s, level, marks_at = _bounded(t_s, level, marks_at)
    sigma = noise.noise_mm(level, step)
    turning = points.find(t_s, level, sigma, step)
    width = period.agreement_mm(turning, float(np.ptp(turning.level_mm)))
    repeat = period.find(turning)
    pressed = bool(trace.pressed[trace.mark].any())
    marks = passages(level, joined(t_s, level, marks_at, turning.swing_mm), sigma, pressed=pressed)
    proof = weigh(turning, repeat, width, marks, one_way=setup.one_way, counted=pressed)
    still_s = _still_s(t_s, level, max(STILL_NOISES * sigma, turning.swing_mm / 2.0))
    value_of = _value(turning, repeat, level, setup, step)
    rejected = inside[split.rejected]
    detail = _detail(trace, rejected, value_of, proof, repeat, sigma, step)
    captured = Captured(
        Kind.TURN, value_of.measured, bool(proof.kind), proof.reason, _warnings(proof), detail
    )
    evidence = repeat.evidence if repeat else 0.0
    if marks.whole_turns:
        evidence = np.inf
    return Seen(captured, proof.turns, evidence, still_s, piece.left, proof, len(turning) > 1)


def _nothing() -> Seen:
    reason = "No reading of the gauge carried a number. Check the gauge and its cable."
    proof = Proof("", None, reason, looks_swayed=False, too_fast=False)
    captured = Captured(Kind.TURN, None, complete=False, reason=reason, detail={"rejected": []})
    return Seen(captured, None, 0.0, 0.0, left=False, proof=proof, moved=False)


def _marks_among(kept: npt.NDArray[np.intp], marked: npt.NDArray[np.intp]) -> list[int]:
    """Where the marks lie among the kept readings; a mark on a rejected one moves to the next."""
    inside = marked[(marked >= kept[0]) & (marked <= kept[-1])]
    return [int(at) for at in np.searchsorted(kept, inside)]


def _bounded(t_s: Floats, level: Floats, marks: list[int]) -> tuple[Floats, Floats, list[int]]:
    block = -(-len(level) // ANALYSED_READINGS_MAX)
    if block <= 1:
        return t_s, level, marks
    whole = len(level) // block * block
    return (
        t_s[:whole].reshape(-1, block).mean(axis=1),
        level[:whole].reshape(-1, block).mean(axis=1),
        [min(at, whole - 1) // block for at in marks],
    )


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
    span = float(np.ptp(smoothed(level, points.SMOOTH_READINGS[3])[0]))
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
