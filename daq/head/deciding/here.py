"""Everything that is known at one position, for a rule that has to look beside its own value."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from daq.head.clearance import is_on_part
from daq.head.deciding.judged import Judged, judged
from daq.head.deciding.outcome import Act, Verdict
from daq.head.history import History
from daq.head.measurement import Measurement, Status
from daq.head.place import Place
from daq.head.plan import Plan, Target
from daq.head.remaining_stock import Cut, Height, Left, left
from daq.head.ruling import ruling

_MADE_NEW_BY_A_CUT = ("valve.recess", "spring.fitted_height")


@dataclass(frozen=True, slots=True)
class Found:
    """What a rule answers: the verdict, what to do, and the work that is."""

    verdict: Verdict
    next: str
    act: Act | None = None


@dataclass(frozen=True)
class Here:
    """One position of a head, or the head itself. values: by characteristic, one a place."""

    plan: Plan
    position: str
    values: Mapping[str, tuple[Judged, ...]]
    history: History

    @classmethod
    def of(
        cls, plan: Plan, position: str, standing: Sequence[Measurement], history: History
    ) -> "Here":
        """The takes that stand at `position`, judged place by place."""
        by_place: dict[str, dict[Place | None, list[Measurement]]] = {}
        for take in standing:
            if take.position == position:
                by_place.setdefault(take.characteristic, {}).setdefault(take.place, []).append(take)
        values = {
            name: tuple(judged(takes) for takes in places.values())
            for name, places in by_place.items()
        }
        return cls(plan, position, values, history)

    def all(self, name: str) -> tuple[Judged, ...]:
        """What stands for that characteristic, one for each place; empty for nothing."""
        return self.values.get(name, ())

    def is_proven(self, name: str) -> bool:
        """Whether the plan asks for it and every place of it is proven in."""
        step, found = self.plan.step(name), self.all(name)
        if step is None:
            return False
        places = {each.place for each in found}
        return set(step.places) <= places and all(
            each.status is Status.PASS and each.complete for each in found
        )

    def is_out(self, name: str) -> bool:
        """Whether any place of it is proven out."""
        return any(each.status is Status.FAIL for each in self.all(name))

    def was_done(self, part: str, act: str) -> bool:
        """Whether that work was done on that part here."""
        return self.history.was_done(self.position, part, act)

    def largest(self, name: str) -> Judged | None:
        """The largest value of any place, of those that can be of this part."""
        return max(self._sizes(name), key=lambda each: each.value or 0.0, default=None)

    def smallest(self, name: str) -> Judged | None:
        """The smallest value of any place, of those that can be of this part."""
        return min(self._sizes(name), key=lambda each: each.value or 0.0, default=None)

    def _sizes(self, name: str) -> list[Judged]:
        takes = [
            [take for take in each.takes if is_on_part(self.plan, take)] for each in self.all(name)
        ]
        return [each for each in map(judged, filter(None, takes)) if each.value is not None]

    @cached_property
    def heights(self) -> dict[str, Height]:
        """Recess, fitted height, margin and length with the limits that hold after a cut."""
        found = {
            "valve.recess": self.largest("valve.recess"),
            "spring.fitted_height": self.largest("spring.fitted_height"),
            "valve.margin": self.smallest("valve.margin"),
            "valve.length": self.smallest("valve.length"),
        }
        return {name: self._height(name, each) for name, each in found.items() if each is not None}

    def _height(self, name: str, found: Judged) -> Height:
        # Cutting makes recess and fitted height new; what is left of rim and tip is not new.
        work = "cut" if name in _MADE_NEW_BY_A_CUT else ""
        target = Target(name, self.position, found.place)
        held = ruling(self.plan, target, made_new=work)
        limit = None if held is None else held.limit
        if limit is not None and name == "valve.recess" and limit.kind != "maker":
            limit = None
        lower = None if limit is None else limit.lower
        upper = None if limit is None else limit.upper
        return Height(
            value_mm=found.value or 0.0,
            u_mm=found.u or 0.0,
            lower_mm=None if lower is None else float(lower),
            upper_mm=None if upper is None else float(upper),
        )

    def left(self, cut: Cut) -> Left:
        """What may still be taken there by that cut."""
        return left(cut, self.heights)


def is_makers(found: Judged) -> bool:
    """Whether the limit is the engine maker's own; a guide value and a shop's say that they are
    not (see `Limit.said_by`)."""
    source = found.last.limit_source or ""
    return bool(source) and not any(
        word in source for word in ("guide value", "the shop's own figure")
    )
