"""`Look`: a yes or no given by a person's press; no gauge takes part."""

from collections.abc import Sequence
from typing import ClassVar

from daq.capture.base import Captured, Hint, Kind, Progress
from daq.metrology.measured import Measured
from drivers.reading import Reading


class Look:
    """Waits for an answer; value 1 is passed and 0 is not, unit "1"."""

    kind: ClassVar[Kind] = Kind.LOOK

    def __init__(self) -> None:
        self._passed: bool | None = None
        self._note = ""

    def answer(self, passed: bool, note: str = "") -> None:
        """Take the person's answer; the last one before the result is taken counts."""
        self._passed = passed
        self._note = note

    @property
    def done(self) -> bool:
        """An answer was given."""
        return self._passed is not None

    def feed(self, readings: Sequence[Reading]) -> None:
        """Ignore them: a look has no gauge."""

    def rest(self, t_s: float) -> None:
        """Ignore it: a look does not end by itself."""

    def progress(self) -> Progress:
        """Nothing or everything."""
        if self._passed is None:
            return Progress(hint=Hint.BEGIN, share=0.0)
        return Progress(hint=Hint.DONE, share=1.0, value=float(self._passed), done=True)

    def result(self) -> Captured:
        """1 or 0; incomplete while nobody answered."""
        if self._passed is None:
            return Captured(Kind.LOOK, None, complete=False, reason="Nobody has answered yet.")
        return Captured(
            Kind.LOOK,
            Measured(float(self._passed), "1"),
            complete=True,
            detail={"passed": self._passed, "note": self._note},
        )
