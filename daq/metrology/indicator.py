"""Error characteristics of an indicator, from a calibration run.

Definitions after ISO 463 (2006; draft of 2025), from memory except the list of them. Errors are
indicated minus true, in um; forward is the plunger moving in, reverse moving out.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise


@dataclass(frozen=True, slots=True)
class Run:
    """One calibration run: errors at rising positions, both ways, all of one length."""

    position_mm: Sequence[float]
    forward_um: Sequence[float]
    reverse_um: Sequence[float]

    def __post_init__(self) -> None:
        if not len(self.position_mm) == len(self.forward_um) == len(self.reverse_um) > 0:
            raise ValueError("A run needs as many forward and reverse errors as positions.")
        if any(b <= a for a, b in pairwise(self.position_mm)):
            raise ValueError("The positions of a run must rise.")


def span_um(errors_um: Sequence[float]) -> float:
    """Error of indication over a range with the zero anywhere: largest minus smallest error."""
    return max(errors_um) - min(errors_um)


def largest_um(run: Run) -> float:
    """Error of indication forward with the zero at the first position."""
    return max(abs(error - run.forward_um[0]) for error in run.forward_um)


def hysteresis_um(run: Run) -> float:
    """Largest difference of reverse and forward at one position."""
    both = zip(run.forward_um, run.reverse_um, strict=True)
    return max(abs(reverse - forward) for forward, reverse in both)


def partial_um(run: Run, from_mm: float, to_mm: float) -> float:
    """Span of the forward errors from one position to another, both included."""
    places = zip(run.position_mm, run.forward_um, strict=True)
    return span_um([error for position, error in places if from_mm <= position <= to_mm])


def worst_partial_um(run: Run, length_mm: float, from_mm: float) -> float:
    """Largest `partial_um` over `length_mm` beginning at any position from `from_mm` on."""
    last_mm = run.position_mm[-1]
    starts = [p for p in run.position_mm if p >= from_mm and p + length_mm <= last_mm]
    return max(partial_um(run, start, start + length_mm) for start in starts)


def repeatability_um(readings_mm: Sequence[float]) -> float:
    """Range of readings taken at one position."""
    return span_um(readings_mm) * 1000.0
