"""`Taken`: the last captured value, and what its gauge says of the part until that is out."""

from collections.abc import Sequence
from dataclasses import dataclass

from daq.bench.button import Button
from daq.capture.attempt import Attempt
from daq.capture.band import Band
from daq.capture.base import Captured, Progress
from daq.capture.leaving import Leaving
from daq.capture.seating import Seating
from daq.head.characteristic import characteristic
from daq.head.plan import Target
from drivers.reading import Reading


@dataclass(slots=True)
class Taken:
    """The last captured value: by which gauge, from which readings, until when, how it went.

    seating: where the gauge closes on its part and stood still by itself.
    """

    target: Target
    gauge: str
    trace: list[Reading]
    until_t_s: float
    leaving: Leaving
    seen: Progress
    button: Button
    seating: Seating | None = None
    id: str = ""

    @classmethod
    def of(cls, target: Target, gauge: str, attempt: Attempt, captured: Captured) -> "Taken":
        """What `attempt` of that gauge made of `target`."""
        trace, setup, window = list(attempt.trace), attempt.aim.setup, attempt.aim.window
        band = Band.of(captured, trace)
        # Without a window nobody knows how far it can close before nothing is in it.
        least = window[0] if window and characteristic(target.characteristic).closes else None
        by_itself = least is not None and captured.detail.get("by") == "stillness"
        return cls(
            target=target,
            gauge=gauge,
            trace=trace,
            until_t_s=trace[-1].t_s,
            leaving=Leaving(captured.kind, band, setup, least),
            seen=attempt.progress(),
            button=Button(trace),
            seating=Seating(band.low, setup) if by_itself else None,
        )

    def feed(self, readings: Sequence[Reading]) -> None:
        """Take what its gauge says next; once the part has left, it may close on anything."""
        for reading in readings:
            self.leaving.feed((reading,))
            if self.seating is not None and not self.leaving.left:
                self.seating.feed((reading,))

    @property
    def went_on(self) -> str:
        """That its gauge went on closing and stood still again; "" while it did not."""
        seating = self.seating
        if seating is None or seating.further_mm is None:
            return ""
        return (
            f"It went on to {seating.further_mm:.4f} mm after {seating.taken_mm:.4f} mm was kept, "
            "so it may not have been seated"
        )
