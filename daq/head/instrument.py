"""What the record must know of a gauge: who it is and how far its number can be trusted."""

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Instrument:
    """One gauge of this bench.

    resolution_mm: its step. error_limit_mm: its largest permitted error, half-width; None when
    nobody said. measures: characteristics it is kept for; empty means anything that is up.
    stylus_angle_deg: between stylus and surface, or plunger and motion; 0 is ideal. kind: of a
    tool without a wire, by the names of `daq.head.tools`.
    """

    name: str
    serial: str
    resolution_mm: float
    error_limit_mm: float | None = None
    measures: frozenset[str] = frozenset()
    stylus_angle_deg: float = 0.0
    certificate: str = ""
    calibration_due: date | None = None
    kind: str = ""

    @property
    def is_known(self) -> bool:
        """Whether this bench knows more of it than its name."""
        return self.resolution_mm > 0

    def may_measure(self, characteristic: str) -> bool:
        """Whether this gauge is meant for `characteristic`."""
        return not self.measures or characteristic in self.measures


@dataclass(frozen=True, slots=True)
class Ring:
    """A setting ring or gauge block that a zero is taken on."""

    name: str
    size_mm: float
    certificate: str = ""
