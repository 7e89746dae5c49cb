"""All takes of one place, judged together: pooled, never the best one chosen."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum, auto

from daq.head.characteristic import Characteristic, characteristic
from daq.head.measurement import Limits, Measurement, Status, standard_u
from daq.head.place import Place
from daq.head.pooling import pooled
from daq.head.quantity import rounded
from daq.metrology.conformity import Conformity, judge

_STEP_MM = 0.001


class Doubt(Enum):
    """Why the takes of one place are not enough to say."""

    NONE = auto()
    INCOMPLETE = auto()
    CONTRADICTING = auto()  # complete takes that differ by more than their uncertainty
    CONTESTED = auto()  # an incomplete take saw more than the complete one beside it


@dataclass(frozen=True, slots=True)
class Judged:
    """What the takes of one place say together.

    value, u: pooled, in the characteristic's unit; u standard (k = 1). takes: those that count,
    in the order in which they were taken; limits are those of the last.
    """

    about: Characteristic
    position: str
    place: Place | None
    status: Status
    value: float | None
    u: float | None
    doubt: Doubt
    takes: tuple[Measurement, ...]

    @property
    def last(self) -> Measurement:
        """The take that came last."""
        return self.takes[-1]

    @property
    def limits(self) -> Limits | None:
        """The zone it was judged against."""
        return self.last.limits

    @property
    def complete(self) -> bool:
        """Whether nothing is missing and nothing contradicts."""
        return self.doubt is Doubt.NONE

    @property
    def shown(self) -> Decimal | None:
        """The value as it is written: a single take's own digits, or the mean of several."""
        if len(self.takes) == 1 or self.value is None:
            return self.last.value
        return rounded(self.value, _STEP_MM)

    @property
    def said(self) -> str:
        """The value in words, with its uncertainty; a recess always with deep or proud."""
        name = self.about.name
        where = "" if self.place is None else f" ({self.place})"
        if self.shown is None:
            return f"{name}{where} (nothing seen)"
        if self.about.capture == "look":
            note = f": {self.last.note}" if self.last.note else ""
            answer = {0.0: "no", 1.0: "yes"}.get(self.value or 0.0, "yes and no")
            return f"{name} ({self.about.where}): {answer}{note}"
        size = f"{self.shown} {self.about.unit}"
        if name == "valve.recess":
            size = f"{abs(self.shown)} {self.about.unit} {'proud' if self.shown < 0 else 'deep'}"
        doubt = "" if self.last.uncertainty is None else f" ± {self.last.uncertainty}"
        mean = f" (mean of {len(self.takes)} takes)" if len(self.takes) > 1 else ""
        return f"{name}{where} {size}{doubt}{mean}"

    @property
    def zone(self) -> str:
        """The limit in words, and in short who says so."""
        if self.limits is None:
            return "no limit"
        lower, upper, unit = self.limits.lower, self.limits.upper, self.about.unit
        if lower is None:
            ends = f"at most {upper} {unit}"
        elif upper is None:
            ends = f"at least {lower} {unit}"
        else:
            ends = f"{lower} to {upper} {unit}"
        source = (self.last.limit_source or "").split(":")[0].strip()
        return f"{ends} ({source})" if source else ends

    @property
    def proven(self) -> str:
        """That it is proven inside or outside its limit, in words.

        The proof takes 95 % (`metrology.conformity`), which 1.65 to 1.96 standard uncertainties
        reach; the ± that stands beside the value is two of them. Where it reaches over the limit
        all the same, that is said.
        """
        side = "outside" if self.status is Status.FAIL else "within"
        reaches = float(self.last.uncertainty or 0) > abs(self.beyond())
        why = "; 95 % sure, for which less than the ± of k = 2 is enough" if reaches else ""
        return f"proven {side} {self.zone}{why}"

    def beyond(self) -> float:
        """By how much the value lies outside its zone; negative while it lies inside."""
        if self.value is None or self.limits is None:
            return 0.0
        lower, upper = self.limits.lower, self.limits.upper
        over = -float("inf") if upper is None else self.value - float(upper)
        under = -float("inf") if lower is None else float(lower) - self.value
        return max(over, under)

    @property
    def is_above(self) -> bool:
        """Whether it is the upper end of its zone that the value passed or is nearer to."""
        if self.value is None or self.limits is None or self.limits.upper is None:
            return False
        lower = self.limits.lower
        over = self.value - float(self.limits.upper)
        return lower is None or over >= float(lower) - self.value


def judged(takes: Sequence[Measurement]) -> Judged:
    """The takes of one place together. There is at least one, oldest first."""
    about, first = characteristic(takes[0].characteristic), takes[0]
    seen = [take for take in takes if take.value is not None and take.uncertainty is not None]
    complete = [take for take in seen if take.complete]
    partial = [take for take in seen if not take.complete]
    counting = tuple(complete or partial or takes)
    if not seen:
        only = counting[-1:]
        return Judged(
            about, first.position, first.place, only[0].status, None, None, Doubt.INCOMPLETE, only
        )
    pool = pooled(counting)[0]
    status, doubt = _together(counting, pool.value, pool.u, agree=pool.agree)
    if not complete:
        doubt = Doubt.INCOMPLETE
        failed = any(take.status is Status.FAIL for take in partial)
        if status is not Status.NOT_ANALYZED:
            status = Status.FAIL if failed else Status.INDETERMINATE
    elif status is not Status.FAIL and any(_saw_more(take, pool.value, pool.u) for take in partial):
        doubt, counting = Doubt.CONTESTED, tuple(take for take in takes if take in seen)
        status = Status.INDETERMINATE if status is Status.PASS else status
    return Judged(about, first.position, first.place, status, pool.value, pool.u, doubt, counting)


def _together(
    takes: Sequence[Measurement], value: float, u: float, *, agree: bool
) -> tuple[Status, Doubt]:
    if len(takes) == 1:
        return takes[0].status, Doubt.NONE
    if all(take.status is Status.FAIL for take in takes):
        return Status.FAIL, Doubt.NONE
    limits = takes[-1].limits
    if not agree:
        known = Status.NOT_ANALYZED if limits is None else Status.INDETERMINATE
        return known, Doubt.CONTRADICTING
    if limits is None:
        return Status.NOT_ANALYZED, Doubt.NONE
    lower = None if limits.lower is None else float(limits.lower)
    upper = None if limits.upper is None else float(limits.upper)
    match judge(value, u, lower, upper):
        case Conformity.PROVEN_IN:
            return Status.PASS, Doubt.NONE
        case Conformity.PROVEN_OUT:
            return Status.FAIL, Doubt.NONE
        case Conformity.NEITHER:
            return Status.INDETERMINATE, Doubt.NONE


def _saw_more(partial: Measurement, value: float, u: float) -> bool:
    """Whether an incomplete take saw what the complete ones beside it deny."""
    if partial.status is Status.FAIL:
        return True
    own_u = standard_u(partial.uncertainty, partial.k)
    if characteristic(partial.characteristic).capture != "turn" or own_u is None:
        return False
    return float(partial.value or 0) - 2 * own_u > value + 2 * u
