"""The capture itself: feeds contact, passes and bottoms, and says when they agree."""

import math
from collections.abc import Sequence
from typing import Any, ClassVar

import numpy as np

from daq.capture.base import Captured, Hint, Kind, Landmark, Progress, Setup
from daq.capture.budget import gauge_lines, resolution_line
from daq.capture.rock.agree import AGREEING_LEAST, Agreement, agreement
from daq.capture.rock.bottom import Bottom, fit_bottom
from daq.capture.rock.contact import Contact, Touch
from daq.capture.rock.passes import Pass, Passes
from daq.capture.step import StepFinder
from daq.metrology.measured import Contribution, Evaluation, Measured
from daq.metrology.uncertainty import resolution_u
from drivers.reading import Reading, State

TWO_POINT_WARNING = (
    "A two-point gauge does not see three-cornered or other odd out-of-roundness: "
    "the bore may be smaller for a round stem than it reads."
)
# Two swings there and back. With fewer passes a silent gauge or the way out ends the capture.
_PASSES_ENOUGH = 4
_REST_S = 1.0
_PASSES_SHOWN = 24  # by a picture
# A bottom hidden between too few readings: this share of them and the hand is too fast.
_HIDDEN_SHARE = 0.5
# The way out: so far above every swing that no swing goes on.
_OUT_MM = 0.1


class Rock:
    """Value: the reading at the bore's true diameter. Lengths in mm."""

    kind: ClassVar[Kind] = Kind.ROCK

    def __init__(self, setup: Setup) -> None:
        self._setup = setup
        self._step = StepFinder(setup.resolution)
        self._contact = Contact()
        self._passes = Passes()
        self._fitted: list[tuple[Pass, Bottom | None]] = []
        self._together: Agreement | None = None
        self._last_s: float | None = None
        self._at_rest = False
        self._out_mm = math.inf
        self._out = False

    @property
    def done(self) -> bool:
        """Enough passes agree; fewer do when the gauge came out or fell silent."""
        together = self._together
        if together is None or not together.holds:
            return False
        return len(together.used) >= _PASSES_ENOUGH or self._out or self._at_rest

    def feed(self, readings: Sequence[Reading]) -> None:
        """Take more readings; those without a number are left out."""
        for reading in readings:
            if reading.state is not State.OK:
                continue
            self._step.feed(reading.value)
            self._last_s, self._at_rest = reading.t_s, False
            for touch in self._contact.feed(Touch(reading.t_s, reading.value)):
                ended = self._passes.feed(touch, self._step.step)
                if ended is not None:
                    self._fitted.append((ended, self._fit(ended)))
                    self._together = agreement(_found(self._fitted))
                    self._out_mm = self._top_mm(self._fitted, self._together) + _OUT_MM
                self._watch_out(touch)

    def rest(self, t_s: float) -> None:
        """A gauge silent for a second has been put down: what agreed until then is enough."""
        if self._last_s is not None and t_s - self._last_s >= _REST_S and not self._at_rest:
            self._at_rest = True
            self._together = agreement(_found(self._all()))

    def progress(self) -> Progress:
        """Passes that agree, of those that are needed."""
        if self.done:
            return Progress(Hint.DONE, 1.0, self._value(), done=True, landmarks=self._bottoms())
        agreeing = len(self._together.used) if self._together else 0
        hint = Hint.GO_ON if self._fitted else Hint.BEGIN
        if self._too_fast():
            hint = Hint.SLOWER
        share = min(agreeing / _PASSES_ENOUGH, 0.99)
        return Progress(hint, share, self._value(), landmarks=self._bottoms())

    def _bottoms(self) -> tuple[Landmark, ...]:
        """The least readings of the last passes; not those of a gauge that was out of the bore."""
        used = self._together.used if self._together else ()
        out_mm = self._together.value_mm + _OUT_MM if self._together else math.inf
        found: list[Landmark] = []
        seen = 0  # those whose bottom was seen, which is what agreement counts by
        for one, bottom in self._fitted:
            touch = self._passes.touches[one.bottom]
            value_mm = bottom.value_mm if bottom else touch.value_mm
            counts = bottom is not None and seen in used
            seen += bottom is not None
            if value_mm <= out_mm:
                found.append(Landmark(touch.t_s, value_mm, counts=counts))
        return tuple(found[-_PASSES_SHOWN:])

    def result(self) -> Captured:
        """The value the agreeing passes give together."""
        fitted = self._all()
        together = agreement(_found(fitted))
        detail = self._detail(fitted, together)
        if together is None:
            reason = "The gauge was not rocked through the bore: no least reading was passed."
            return Captured(self.kind, None, complete=False, reason=reason, detail=detail)
        passes = len(together.used)
        budget = (
            resolution_line(self._step.step),
            Contribution(
                "fit", together.fit_u_mm, Evaluation.TYPE_A, "curves through the least readings"
            ),
            Contribution(
                "shape",
                together.shape_u_mm,
                Evaluation.TYPE_B,
                "where readings are few the hand is taken to swing like a sine",
            ),
            Contribution(
                "repeatability",
                together.repeat_u_mm,
                Evaluation.TYPE_A,
                f"scatter of {passes} passes, of their mean",
            ),
            *gauge_lines(self._setup),
        )
        reason = "" if together.holds else self._doubt(fitted, together)
        return Captured(
            self.kind,
            Measured(together.value_mm, "mm", budget),
            complete=together.holds,
            reason=reason,
            warnings=(TWO_POINT_WARNING,),
            detail=detail,
        )

    def _all(self) -> list[tuple[Pass, Bottom | None]]:
        last = self._passes.open()
        return self._fitted if last is None else [*self._fitted, (last, self._fit(last))]

    def _fit(self, one: Pass) -> Bottom | None:
        touches = self._passes.touches[one.before : one.after + 1]
        t_s = np.array([touch.t_s for touch in touches])
        value_mm = np.array([touch.value_mm for touch in touches])
        noise_mm = resolution_u(self._step.step)
        return fit_bottom(t_s, value_mm, one.bottom - one.before, noise_mm)

    def _watch_out(self, touch: Touch) -> None:
        out = touch.value_mm > self._out_mm
        if out and not self._out:
            self._together = agreement(_found(self._all()))
        self._out = out

    def _top_mm(
        self, fitted: Sequence[tuple[Pass, Bottom | None]], together: Agreement | None
    ) -> float:
        """Highest reading that a swing of an agreeing pass turned back from.

        Of the two sides of a pass the lower one: the other may be the way in or out. A gauge that
        was fumbled with before it went in leaves passes, too, but none that agrees.
        """
        touches = self._passes.touches
        found = [one for one, bottom in fitted if bottom is not None]
        used = [found[place] for place in together.used] if together else []
        return max(
            min(touches[one.before].value_mm, touches[one.after].value_mm)
            for one in used or [one for one, _ in fitted]
        )

    def _too_fast(self) -> bool:
        hidden = sum(bottom is None for _, bottom in self._fitted)
        return hidden > _HIDDEN_SHARE * len(self._fitted)

    def _value(self) -> float | None:
        return self._together.value_mm if self._together else None

    def _doubt(self, fitted: Sequence[tuple[Pass, Bottom | None]], together: Agreement) -> str:
        used = len(together.used)
        if together.low:
            return (
                f"{used} passes agree, but {len(together.low)} read lower: "
                "the gauge may have lost contact, or the bore is not round here."
            )
        if together.rivalled:
            return (
                f"{used} passes agree on one size and {together.rivals} on a larger one: "
                "measure one place at a time."
            )
        if self._too_fast():
            return f"Rock it slower: in only {used} of {len(fitted)} passes the bottom was seen."
        if used < AGREEING_LEAST:
            return f"Only {used} passes agree; {AGREEING_LEAST} are needed."
        return f"Only {used} of {len(fitted)} passes agree."

    def _detail(
        self, fitted: Sequence[tuple[Pass, Bottom | None]], together: Agreement | None
    ) -> dict[str, Any]:
        places = [place for place, (_, bottom) in enumerate(fitted) if bottom is not None]
        used = {places[place] for place in together.used} if together else set()
        return {
            "step": self._step.step,
            "passes": [
                {
                    "t_s": self._passes.touches[one.bottom].t_s,
                    "least_mm": bottom.value_mm if bottom else None,
                    "u_mm": bottom.u_mm if bottom else None,
                    "readings": bottom.count if bottom else 0,
                    "used": place in used,
                }
                for place, (one, bottom) in enumerate(fitted)
            ],
            "lost_contact": [
                {"t_s": touch.t_s, "value_mm": touch.value_mm} for touch in self._contact.lost
            ],
            "swing_top": self._top_mm(fitted, together) if fitted else None,
        }


def _found(fitted: Sequence[tuple[Pass, Bottom | None]]) -> list[Bottom]:
    return [bottom for _, bottom in fitted if bottom is not None]
