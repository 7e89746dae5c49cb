"""Lint: a few readings that stand out on both sides of a trace that goes on as before.

A grain under the tip lifts it for an instant: the level jumps away and jumps back, while the
trace before and after joins up. A real nick does the same at the same place on every turn, so
what was rejected here is looked at again once the turns are known (`nick.py`).
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from daq.capture.turn import grains

Floats = npt.NDArray[np.float64]

RUN_READINGS_MAX = 3
# A reading stands out when it is this many noise standard deviations off the line that joins
# its neighbours, and more than this many of the steps the trace takes around it.
NOISE_FACTOR = 8.0
MOTION_FACTOR = 3.0
# Grains come in company; each pass takes the worst of a group out and looks again.
PASSES_MAX = 4
END_READINGS = 2 * RUN_READINGS_MAX + 1


# A top that a hand hurries over between two pauses shows as one reading, too, but not far beyond
# the rest of the part: what stays within this share of the range may be the part itself.
PART_SHARE = 0.35


@dataclass(frozen=True, slots=True)
class Lint:
    """kept: indices of the readings that stay; rejected: of those that do not; both rising."""

    kept: npt.NDArray[np.intp]
    rejected: npt.NDArray[np.intp]


def reject(t_s: Floats, value_mm: Floats, noise_mm: float) -> Lint:
    """Split a trace into what the part did and what a grain did."""
    kept = np.flatnonzero(~grains.lifted(t_s, value_mm, noise_mm))
    for _ in range(PASSES_MAX):
        bad = _standing_out(value_mm[kept], noise_mm)
        if not bad.any():
            break
        kept = kept[~bad]
    whole = np.arange(len(value_mm))
    if not len(kept):
        return Lint(whole, kept)  # of a handful of readings none can be told from the rest
    return Lint(kept, np.setdiff1d(whole, kept, assume_unique=True))


def doubts(value_mm: Floats, split: Lint) -> list[Lint]:
    """The ways to read a trace, the likeliest first.

    It keeps what lies within or little beyond the range of the rest; then the strict one; then
    the one that keeps everything: a deep nick stands out like lint, but comes again every turn.
    """
    if not len(split.rejected):
        return [split]
    rest = value_mm[split.kept]
    room = PART_SHARE * float(np.ptp(rest))
    odd = value_mm[split.rejected]
    far = (odd < np.min(rest) - room) | (odd > np.max(rest) + room)
    whole = np.arange(len(value_mm))
    ways = [split]
    if not far.all():
        ways.insert(0, Lint(np.setdiff1d(whole, split.rejected[far]), split.rejected[far]))
    if far.any():
        ways.append(Lint(whole, np.zeros(0, dtype=np.intp)))
    return ways


def _standing_out(value_mm: Floats, noise_mm: float) -> npt.NDArray[np.bool_]:
    count = len(value_mm)
    if count < 2:
        return np.zeros(count, dtype=np.bool_)
    # Beyond its ends the trace is taken to rest at the end's level, so that lint is seen there too.
    ends = (np.median(value_mm[:END_READINGS]), np.median(value_mm[-END_READINGS:]))
    value_mm = np.pad(value_mm, RUN_READINGS_MAX, constant_values=ends)
    bad = np.zeros(len(value_mm), dtype=np.bool_)
    worst: list[tuple[float, int, int]] = []
    for length in range(1, RUN_READINGS_MAX + 1):
        ratio = _run_ratio(value_mm, length, noise_mm)
        worst += [(float(ratio[at]), length, at) for at in np.flatnonzero(ratio > 1.0).tolist()]
    # The strongest first; a run that touches one already taken waits for the next pass.
    for _, length, at in sorted(worst, key=lambda run: (-run[0], run[1], run[2])):
        first = at + RUN_READINGS_MAX
        if not bad[max(0, first - 3) : first + length + 3].any():
            bad[first : first + length] = True
    return bad[RUN_READINGS_MAX:-RUN_READINGS_MAX]


def _run_ratio(value_mm: Floats, length: int, noise_mm: float) -> Floats:
    """How far each run of `length` readings stands out, 1 being the limit.

    Entry i is the run that starts at reading i + RUN_READINGS_MAX: three readings before it and
    three after it tell how the trace moves when no grain is there.
    """
    side = RUN_READINGS_MAX
    count = len(value_mm) - 2 * side - length + 1
    if count <= 0:
        return np.zeros(0)
    at = [value_mm[k : k + count] for k in range(2 * side + length)]
    before, after = at[side - 1], at[side + length]
    motion = np.median(
        np.abs(
            [
                at[1] - at[0],
                at[2] - at[1],
                at[side + length + 1] - at[side + length],
                at[side + length + 2] - at[side + length + 1],
                (after - before) / (length + 1),
                # Doubling the fastest step keeps a trace that is just setting off from being
                # taken for lint: it moves on one side only.
                np.maximum(np.abs(at[2] - at[1]), np.abs(at[side + length + 1] - after)),
                np.abs(after - before) / 2.0,
            ]
        ),
        axis=0,
    )
    off = np.full(count, np.inf)
    for k in range(length):
        share = (k + 1) / (length + 1)
        line = before + share * (after - before)
        off = np.minimum(off, np.abs(at[side + k] - line))
    # What joins up again may have moved on by a few steps meanwhile, not by the size of the jump.
    joined = np.abs(after - before) < 0.6 * off
    return np.where(joined, off / (NOISE_FACTOR * noise_mm + MOTION_FACTOR * motion), 0.0)
