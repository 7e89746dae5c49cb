"""A runout in words and facts: the `Captured` that leaves the capture."""

from typing import Any

import numpy as np

from daq.capture.base import Captured, Kind, Setup
from daq.capture.turn import shape
from daq.capture.turn.evaluate import Seen, Trace
from daq.capture.turn.points import Points
from daq.metrology.vblock import blindness

NAMED_LINT_MAX = 200
TOUCHED_POINTS_LEAST = 4
# A second harmonic this much of the runout is worth a word about the V-block.
OVAL_SHARE = 0.3


def captured(seen: Seen, trace: Trace, setup: Setup, left_out: int) -> Captured:
    """The result of one trace. left_out: readings beyond what a capture keeps."""
    warnings = []
    if seen.proof.looks_swayed:
        warnings.append("Passages of this trace mirror each other: it looks swayed, not turned.")
    if seen.proof.too_fast:
        warnings.append("Few readings fell on a turn. Turn slower for a better figure.")
    if left_out:
        warnings.append(f"The capture was full: the last {left_out} readings were not used.")
    detail = _facts(seen, trace)
    if seen.sight is None or seen.value is None:
        return Captured(Kind.TURN, None, complete=False, reason=seen.proof.reason, detail=detail)
    found = shape.of(seen.sight)
    detail["harmonics"] = shape.told(found) if found else None
    warnings += _v_block(detail, found, setup)
    return Captured(
        Kind.TURN,
        seen.value.measured,
        seen.complete,
        _at_least_mm(seen.value.measured.value, seen.sight.points),
        seen.proof.reason,
        tuple(warnings),
        detail,
    )


def _at_least_mm(runout_mm: float, points: Points) -> float | None:
    """What is left of the runout without its highest, and without its lowest turning point.

    One touch of a hand is one turning point, and shall not prove a part out.
    """
    level_mm = points.level_mm
    if len(level_mm) < TOUCHED_POINTS_LEAST:
        return None
    in_order = np.sort(level_mm)
    left_mm = min(in_order[-1] - in_order[1], in_order[-2] - in_order[0])
    return runout_mm * float(left_mm / np.ptp(level_mm))


def _v_block(detail: dict[str, Any], found: shape.Shape | None, setup: Setup) -> list[str]:
    """What the V-block hides and fakes, into detail; a warning where this part shows lobes."""
    if setup.v_angle_deg is None:
        return []
    blind = blindness(setup.v_angle_deg)
    detail["v_block"] = {
        "angle_deg": blind.v_angle_deg,
        "hidden_lobes": list(blind.hidden),
        "false_runout_factor": {str(n): factor for n, factor in blind.false_runout.items()},
        "text": blind.sentence,
    }
    lobed = (detail["points_a_turn"] or 0) >= 4
    if found is not None:
        largest = max(found.harmonics.amplitude_mm[1:])
        lobed = lobed or largest > OVAL_SHARE * found.harmonics.amplitude_mm[0]
    return [blind.sentence] if lobed else []


def _facts(seen: Seen, trace: Trace) -> dict[str, Any]:
    named = [
        {"t_s": float(trace.t_s[at]), "value": float(trace.value_mm[at])}
        for at in seen.rejected[:NAMED_LINT_MAX]
    ]
    facts: dict[str, Any] = {
        "proof": seen.proof.kind or None,
        "turns": None if seen.proof.turns is None else round(seen.proof.turns, 2),
        "looks_swayed": seen.proof.looks_swayed,
        "rejected": named,
        "rejected_count": len(seen.rejected),
        "points_a_turn": None,
        "slips": None,
        "evidence": None,
        "drift_mm_per_s": None,
        "left": seen.left,
    }
    if seen.sight is None or seen.value is None:
        return facts
    repeat = seen.sight.repeat
    if repeat is not None:
        facts |= {
            "points_a_turn": repeat.size,
            "slips": repeat.slips,
            "evidence": round(float(repeat.evidence), 2),
            "drift_mm_per_s": repeat.drift_mm_per_s,
        }
    per_turn = seen.value.per_turn_mm
    return facts | {
        "runout_per_turn_mm": list(per_turn),
        "turns_agree_within_mm": float(np.ptp(per_turn)) if len(per_turn) > 1 else None,
        "noise_mm": seen.sight.noise_mm,
        "step_mm": seen.step_mm,
        "budget": [
            {"name": line.name, "u_mm": line.u, "type": line.evaluation.value, "note": line.note}
            for line in seen.value.measured.budget
        ],
    }
