"""What the bench shows of itself, to whoever asks, at the asker's own pace."""

from dataclasses import dataclass
from enum import StrEnum

from daq.capture.base import Progress
from daq.head.caution import Caution
from daq.head.characteristic import is_look
from daq.head.instrument import Instrument
from daq.head.plan import Target


class Phase(StrEnum):
    """Where the bench is with what is up."""

    IDLE = "idle"  # nothing is up
    CAPTURING = "capturing"  # the readings of a gauge count towards what is up
    TAKE_OUT = "take-out"  # a value was taken; readings belong to nobody until the part leaves
    NOT_KEPT = "not-kept"  # a value is there but in doubt; a press keeps it


@dataclass(frozen=True, slots=True)
class BenchProgress:
    """One look at the bench.

    job, number: what is on the bench, "" for nothing. gauge: the one in use, or the one that is
    needed; "" when any may do. stage: 1 while the face of a recess is settled and the valve is
    to come. capture: how it goes, or how it went until the part is taken out. message: one
    sentence for the person. asks: it is a question, and nothing goes on before "go on" or "take
    again" has answered it. coming: the next few targets. last: the id of the measurement taken
    last on this job at this bench, "" for none.
    """

    phase: Phase
    job: str
    number: str
    target: Target | None
    where: str
    cautions: tuple[Caution, ...]
    gauge: str
    stage: int
    capture: Progress | None
    message: str
    coming: tuple[Target, ...]
    remaining: int
    last: str
    not_taken: bool
    asks: bool

    def needs(self, gauge: Instrument) -> bool:
        """Whether what is up is measured with that gauge, or may be."""
        if self.target is None or is_look(self.target.characteristic):
            return False
        if self.gauge:
            return gauge.name == self.gauge
        return gauge.may_measure(self.target.characteristic)
