"""The capture itself: waits for the vacuum, follows its loss, and says when it is known."""

import math
from collections.abc import Sequence
from typing import Any, ClassVar

from daq.capture.base import Captured, Hint, Kind, Landmark, Progress, Setup
from daq.capture.decay.bins import Bins, Curve
from daq.capture.decay.model import Loss, fit_loss
from daq.capture.decay.onset import Onset, grows, trimmed
from daq.capture.step import StepFinder
from daq.metrology.measured import Contribution, Evaluation, Measured
from daq.metrology.uncertainty import rectangular_u, resolution_u
from drivers.reading import Reading, State

UNIT = "mbar/s"
# Less vacuum than this is a cup that does not seal or a pump that does not run. Common practice,
# no source.
HELD_MBAR = 50.0
# Enough to say: the gas has had time to settle, and the rate is known this well.
_SETTLING_S = 10.0
_TAUS = 2.0
_READINGS_LEAST = 12
_KNOWN_SHARE, _KNOWN_MBAR_S = 0.2, 0.1
# Better than this needs no waiting; longer than this nobody waits.
_DONE_SHARE, _DONE_MBAR_S, _DONE_S = 0.1, 0.03, 60.0
_LOOK_EVERY_S = 1.0
_REST_S = 3.0


class Decay:
    """Value: pressure-loss rate at the start in mbar/s, of the leak alone.

    Takes vacuum as a positive number, mbar below ambient. rate x volume in litres is the leak.
    """

    kind: ClassVar[Kind] = Kind.DECAY

    def __init__(self, setup: Setup) -> None:
        self._setup = setup
        self._step = StepFinder(setup.resolution)
        self._onset = Onset()
        self._bins = Bins()
        self._most_mbar = 0.0
        self._start_s: float | None = None
        self._end_s = 0.0
        self._look_s = 0.0
        self._so_far: Loss | None = None
        self._rested = False
        self._done = False

    @property
    def done(self) -> bool:
        """The rate is known well, or known and a minute has passed, the part was vented, or the
        gauge fell silent; looked at once a second of the trace.
        """
        return self._done

    def feed(self, readings: Sequence[Reading]) -> None:
        """Take more readings; those without a number are left out."""
        for reading in readings:
            if reading.state is State.OK:
                self._take(reading.t_s, reading.value)

    def rest(self, t_s: float) -> None:
        """A gauge silent for three seconds has sent what there is; it may be enough."""
        if self._start_s is not None and t_s - self._end_s >= _REST_S and not self._rested:
            self._rested = True
            self._look(ended=True)

    def _take(self, t_s: float, below_mbar: float) -> None:
        self._step.feed(below_mbar)
        self._most_mbar = max(self._most_mbar, below_mbar)
        if self._onset.starts(below_mbar, self._step.step):
            self._bins = Bins()
            self._start_s, self._look_s, self._so_far = t_s, t_s + _LOOK_EVERY_S, None
        elif self._onset.over:
            return
        elif not self._onset.takes(below_mbar):
            self._look(ended=True)
            return
        self._bins.add(t_s, below_mbar)
        self._end_s, self._rested = t_s, False
        if t_s >= self._look_s or self._onset.over:
            self._look_s = t_s + _LOOK_EVERY_S
            self._look(ended=self._onset.over)

    def _look(self, *, ended: bool) -> None:
        if self._most_mbar < HELD_MBAR or self._bins.readings < _READINGS_LEAST:
            return
        curve, _ = trimmed(self._bins.curve())
        if len(curve.t_s) <= _READINGS_LEAST / 2:
            return
        self._so_far = self._loss(curve)
        waited = ended or self._length_s() >= _DONE_S
        known = self._is_known(self._so_far, _DONE_SHARE, _DONE_MBAR_S)
        enough = not self._doubt(curve, self._so_far)
        self._done = self._done or (enough and (waited or known))

    def progress(self) -> Progress:
        """Seconds seen of those that are needed at least."""
        if self._done:
            return Progress(Hint.DONE, 1.0, self._rate(), done=True, landmarks=self._start())
        if self._most_mbar < HELD_MBAR:
            return Progress(Hint.BEGIN, 0.0)
        share = min(self._length_s() / _SETTLING_S, 0.99)
        return Progress(Hint.GO_ON, share, self._rate(), landmarks=self._start())

    def _start(self) -> tuple[Landmark, ...]:
        """Where the loss began."""
        if self._start_s is None:
            return ()
        return (Landmark(self._start_s, self._most_mbar),)

    def result(self) -> Captured:
        """The loss rate at the start."""
        if self._most_mbar < HELD_MBAR:
            reason = (
                f"The part never held: {self._most_mbar:.0f} mbar below ambient was the most, "
                f"{HELD_MBAR:.0f} are needed. Look at cup, hose and pump, then at the part."
            )
            return self._nothing(reason)
        curve, left_out_s = trimmed(self._bins.curve())
        if self._bins.readings < _READINGS_LEAST or len(curve.t_s) <= _READINGS_LEAST / 2:
            return self._nothing(
                f"Only {self._bins.readings} readings came before the vacuum was gone or the "
                f"recording ended; {_READINGS_LEAST} are needed."
            )
        loss = self._loss(curve)
        reason = self._doubt(curve, loss)
        return Captured(
            self.kind,
            Measured(loss.rate_mbar_s, UNIT, self._budget(loss, float(curve.t_s[-1]))),
            complete=not reason,
            reason=reason,
            detail=self._detail() | _detail_of(loss, left_out_s),
        )

    def _nothing(self, reason: str) -> Captured:
        return Captured(self.kind, None, complete=False, reason=reason, detail=self._detail())

    def _loss(self, curve: Curve) -> Loss:
        return fit_loss(curve, resolution_u(self._step.step))

    def _length_s(self) -> float:
        return 0.0 if self._start_s is None else self._end_s - self._start_s

    def _rate(self) -> float | None:
        return self._so_far.rate_mbar_s if self._so_far else None

    def _doubt(self, curve: Curve, loss: Loss) -> str:
        """Why the curve is not enough to say, or nothing."""
        length_s = float(curve.t_s[-1])
        if grows(curve):
            return "The loss grew instead of slowing down: was the valve to the pump closed?"
        if not self._onset.over and length_s < max(_SETTLING_S, _TAUS * loss.tau_s):
            return f"The gas was still settling after {length_s:.0f} s: wait longer."
        if not self._is_known(loss, _KNOWN_SHARE, _KNOWN_MBAR_S):
            return f"{length_s:.0f} s are too short to tell the leak from the gas warming up."
        return ""

    def _is_known(self, loss: Loss, share: float, least_mbar_s: float) -> bool:
        expanded = 2 * math.hypot(loss.noise_u_mbar_s, loss.warming_u_mbar_s, loss.model_u_mbar_s)
        return expanded <= max(share * abs(loss.rate_mbar_s), least_mbar_s)

    def _budget(self, loss: Loss, length_s: float) -> tuple[Contribution, ...]:
        lines = [
            Contribution(
                "resolution",
                resolution_u(self._step.step) * math.sqrt(2.0) / length_s,
                Evaluation.TYPE_B,
                f"digital step {self._step.step:.6g} mbar at both ends of {length_s:.0f} s",
            ),
            Contribution(
                "fit",
                loss.noise_u_mbar_s,
                Evaluation.TYPE_A,
                f"readings scatter by {loss.scatter_mbar:.2g} mbar about the curve",
            ),
            Contribution(
                "settling",
                loss.warming_u_mbar_s,
                Evaluation.TYPE_B,
                "how the gas warmed up and the leak slows down is not known exactly",
            ),
            Contribution(
                "model",
                loss.model_u_mbar_s,
                Evaluation.TYPE_B,
                "what the curve leaves out: gas near the walls warms up sooner than in the middle",
            ),
        ]
        if self._setup.error_limit is not None:
            share = rectangular_u(self._setup.error_limit) / loss.start_mbar
            lines.append(
                Contribution(
                    "error limit",
                    share * abs(loss.rate_mbar_s),
                    Evaluation.TYPE_B,
                    f"error of the gauge up to {self._setup.error_limit:.6g} mbar at the start",
                )
            )
        return tuple(lines)

    def _detail(self) -> dict[str, Any]:
        return {
            "step": self._step.step,
            "readings": self._bins.readings,
            "length_s": self._length_s(),
            "most_mbar": self._most_mbar,
            "start_mbar": self._most_mbar,
        }


def _detail_of(loss: Loss, left_out_s: float) -> dict[str, Any]:
    return {
        "start_mbar": loss.start_mbar,
        "left_out_s": left_out_s,
        "warming_mbar": loss.warming_mbar,
        "settling_tau_s": loss.tau_s,
        "slowing": loss.slowing,
        "scatter_mbar": loss.scatter_mbar,
    }
