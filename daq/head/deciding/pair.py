"""Of a guide and its valve that play too much or too little: which of the two is worn?

Each part may pass alone and the pair still fail, so the pair is judged too; replacing only the
worse part may bring it in, and often both are worn (an engine maker's handbook).
"""

from dataclasses import dataclass
from enum import Enum, auto

from daq.head.deciding.here import Here
from daq.head.deciding.judged import Judged
from daq.head.measurement import Status
from daq.head.plan import Target
from daq.head.ruling import ruling
from daq.metrology.conformity import Conformity, judge


class Worn(Enum):
    """Which part of the pair has to go."""

    GUIDE = auto()
    VALVE = auto()
    BOTH = auto()
    WORSE_GUIDE = auto()  # a new part on either side would bring it in; the guide is worn more
    WORSE_VALVE = auto()
    UNKNOWN = auto()  # nobody says what either was as new


@dataclass(frozen=True, slots=True)
class Pair:
    """The end of each part that the clearance is made of, beside its size as new; all in mm.

    loose: whether it is the most that is asked about (largest bore, smallest stem), or the least.
    """

    bore: Judged
    stem: Judged
    new_bore_mm: float | None
    new_stem_mm: float | None
    limit_mm: float
    loose: bool

    @property
    def said(self) -> str:
        """Both parts with what they have lost or gained since new."""
        end = ("largest", "smallest") if self.loose else ("smallest", "largest")
        bore = _beside(f"{end[0]} bore", self.bore, self.new_bore_mm)
        return f"{bore}; {_beside(f'{end[1]} stem', self.stem, self.new_stem_mm)}"

    def stem_is_good(self) -> bool:
        """Whether this stem is proven to fit in a guide as new."""
        return self.new_bore_mm is not None and self._fits(
            self.new_bore_mm - (self.stem.value or 0.0), self.stem.u or 0.0
        )

    def stem_is_out(self) -> bool:
        """Whether this stem is proven not to fit in a guide as new."""
        if self.new_bore_mm is None:
            return False
        clearance_mm = self.new_bore_mm - (self.stem.value or 0.0)
        return self._judged(clearance_mm, self.stem.u or 0.0) is Conformity.PROVEN_OUT

    def bore_is_good(self) -> bool:
        """Whether a valve as new is proven to fit in this guide."""
        return self.new_stem_mm is not None and self._fits(
            (self.bore.value or 0.0) - self.new_stem_mm, self.bore.u or 0.0
        )

    def worn(self) -> Worn:
        """Which part has to go; of two that would each do, the one worn more."""
        if self.new_bore_mm is None or self.new_stem_mm is None:
            return Worn.UNKNOWN
        stem_good, bore_good = self.stem_is_good(), self.bore_is_good()
        if stem_good and bore_good:
            grown = abs((self.bore.value or 0.0) - self.new_bore_mm)
            shrunk = abs(self.new_stem_mm - (self.stem.value or 0.0))
            return Worn.WORSE_GUIDE if grown >= shrunk else Worn.WORSE_VALVE
        if stem_good:
            return Worn.GUIDE
        return Worn.VALVE if bore_good else Worn.BOTH

    def _fits(self, clearance_mm: float, u_mm: float) -> bool:
        return self._judged(clearance_mm, u_mm) is Conformity.PROVEN_IN

    def _judged(self, clearance_mm: float, u_mm: float) -> Conformity:
        lower, upper = (None, self.limit_mm) if self.loose else (self.limit_mm, None)
        return judge(clearance_mm, u_mm, lower, upper)


def pair_at(here: Here, clearance: Judged) -> Pair | None:
    """The pair behind a clearance at this position; None where one side was not seen."""
    loose = clearance.about.name == "guide.clearance_max"
    bore = (here.largest if loose else here.smallest)("guide.diameter")
    stem = (here.smallest if loose else here.largest)("valve.stem_diameter")
    limits = clearance.limits
    limit = None if limits is None else limits.upper if loose else limits.lower
    if bore is None or stem is None or limit is None:
        return None
    return Pair(
        bore=bore,
        stem=stem,
        new_bore_mm=_as_new(here, "guide.diameter", bore, upper=loose),
        new_stem_mm=_as_new(here, "valve.stem_diameter", stem, upper=not loose),
        limit_mm=float(limit),
        loose=loose,
    )


def _as_new(here: Here, name: str, found: Judged, *, upper: bool) -> float | None:
    """The end of the size as new that is worst for the pair; else the nominal size."""
    step = here.plan.step(name)
    if step is None:
        return None
    held = ruling(here.plan, Target(name, here.position, found.place), made_new="as new")
    if held is not None and held.use == "new":
        end = held.limit.upper if upper else held.limit.lower
        if end is not None:
            return float(end)
    return None if step.nominal_mm is None else float(step.nominal_mm)


def _beside(what: str, found: Judged, new_mm: float | None) -> str:
    text = f"{what} {found.shown} mm"
    if new_mm is None or found.value is None:
        return text
    return f"{text} ({found.value - new_mm:+.3f} mm to {new_mm:g} as new)"


def is_settled(clearance: Judged) -> bool:
    """Whether the clearance says something for certain: complete, and proven in or out."""
    return clearance.complete and clearance.status in {Status.PASS, Status.FAIL}
