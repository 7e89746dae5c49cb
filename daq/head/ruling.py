"""Which limit holds for a value: the engine maker's, else a guide value; for wear or for new.

As found, the wear limit holds. After work that puts a part back to new, or with a new part, the
limit for new does, where there is one; what is said beside the value tells which and why.
"""

from dataclasses import dataclass
from decimal import Decimal

from daq.head.characteristic import is_look
from daq.head.guide_values import Known, Use, guide_value
from daq.head.layout import HEAD, side_of
from daq.head.limits import Limit
from daq.head.plan import Plan, Target
from daq.head.step import Step

LOOK = Limit(lower=Decimal(1), kind="look", source="a look: it has to be a yes")
_STEM = "valve.stem_diameter"


@dataclass(frozen=True, slots=True)
class Ruling:
    """A limit in force. use: wear or new; None where only one is known of. why: what made it new
    ("guide renewed"), or why the limit for new does not stand although it should."""

    limit: Limit
    use: Use | None = None
    why: str = ""

    @property
    def said_by(self) -> str:
        """Which limit it is, who says it, and why this one."""
        name = {"wear": "wear limit; ", "new": "limit for new; ", None: ""}[self.use]
        return f"{name}{self.limit.said_by}" + (f" ({self.why})" if self.why else "")


def ruling(plan: Plan, target: Target, *, made_new: str = "") -> Ruling | None:
    """The limit that holds for `target`; None where nobody gives one.

    made_new: what put the part back to new since it was found; "" as found.
    """
    step = plan.step(target.characteristic)
    if step is None:
        return None
    if is_look(target.characteristic):
        return Ruling(LOOK)
    wear = step.limit_at(target.position, target.place)
    new = step.limit_new_at(target.position, target.place)
    if wear is None and new is None:
        return _guided(plan, step, target, made_new)
    if made_new and new is not None:
        return Ruling(new, "new", made_new)
    if wear is not None:
        lacking = f"{made_new}, but no limit for new is entered" if made_new else ""
        return Ruling(wear, "wear" if new is not None or made_new else None, lacking)
    if new is None:
        return None
    # Only the limit for new is entered: what is worn is judged by a guide value for wear, unless
    # that asks more of it than of a new part.
    guided = _guided(plan, step, target, "")
    if guided is None or _asks_more(guided.limit, new):
        return Ruling(new, "new", "no wear limit is entered")
    return guided


def _asks_more(limit: Limit, than: Limit) -> bool:
    """Whether any end of `limit` is tighter; an end that `than` leaves open counts, too."""
    upper = limit.upper is not None and (than.upper is None or limit.upper < than.upper)
    lower = limit.lower is not None and (than.lower is None or limit.lower > than.lower)
    return upper or lower


def _guided(plan: Plan, step: Step, target: Target, made_new: str) -> Ruling | None:
    known = _known(plan, step, target)
    wear = guide_value(step.characteristic, known, "wear")
    if wear is None:
        return None
    new = guide_value(step.characteristic, known, "new")
    if new is None or (new.lower, new.upper) == (wear.lower, wear.upper):
        return Ruling(wear)
    return Ruling(new, "new", made_new) if made_new else Ruling(wear, "wear")


def _known(plan: Plan, step: Step, target: Target) -> Known:
    """What the plan says that a guide value depends on."""
    stem, free = plan.step(_STEM), plan.step("spring.free_length")
    here = step.at_place(target.place)
    load = None if here is None else here.nominal_n
    return Known(
        side=HEAD if target.position == HEAD else side_of(target.position),
        stem_mm=None if stem is None else stem.nominal_mm,
        nominal=load if step.characteristic == "spring.load" else step.nominal_mm,
        free_length_mm=None if free is None else free.nominal_mm,
        height=None if here is None else here.height,
        span_mm=None if here is None else here.span_mm,
    )
