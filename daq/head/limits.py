"""Limits and where they come from, and the bounds outside which a limit cannot be one."""

from decimal import Decimal
from typing import Annotated, Any, Literal, Self

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator

from daq.head.inches import disagreement, in_mm, number_of

# A run-out limit outside these is a slip of unit or decimal point. Published limits for stems,
# faces and seats lie between 0.0127 and 0.1 mm TIR (TM 10-3930-671-24, TM 9-2815-247-34 and
# engine makers' service manuals); the bounds leave a factor of five on either side.
RUNOUT_LIMIT_MM_MIN = Decimal("0.002")
RUNOUT_LIMIT_MM_MAX = Decimal("0.5")


def _plain(value: Decimal) -> Decimal:
    if not value.is_finite():
        raise ValueError("a limit is a plain decimal number")
    return value


FiniteDecimal = Annotated[Decimal, AfterValidator(_plain)]
ENDS = ("lower", "upper")


def _absent(value: Any) -> bool:
    return value is None


class Limit(BaseModel):
    """The zone a value must lie in, both ends included, and who says so.

    lower, upper: in the characteristic's canonical unit; at least one is given. In a plan
    `lower_in` and `upper_in` stand for them in inches; with both, as some pages print, they have
    to agree. kind: `maker` is the engine maker's figure, `guide` a guide value that is always
    shown as not the maker's, `shop` the shop's own, `look` a yes. acknowledged_by: who has looked
    at a figure that is not usual, or at two that disagree, and keeps it all the same.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    lower: FiniteDecimal | None = None
    upper: FiniteDecimal | None = None
    kind: Literal["maker", "guide", "shop", "look"]
    source: Annotated[str, Field(min_length=1, max_length=300)]
    acknowledged_by: Annotated[str, Field(min_length=1, max_length=80)] | None = Field(
        default=None, exclude_if=_absent
    )

    @model_validator(mode="before")
    @classmethod
    def _inches(cls, given: Any) -> Any:
        if not isinstance(given, dict):
            return given
        found = dict(given)
        for end in ENDS:
            inch = found.get(f"{end}_in")
            if inch is None or end not in found:
                continue
            wrong = disagreement(number_of(inch, f"{end}_in"), number_of(found[end], end))
            if wrong and not found.get("acknowledged_by"):
                raise ValueError(
                    f"{end}: {wrong}, or keep {end!r} with a name in 'acknowledged_by'"
                )
            del found[f"{end}_in"]
        return in_mm(found, *ENDS)

    @model_validator(mode="after")
    def _has_ends_in_order(self) -> Self:
        if self.lower is None and self.upper is None:
            raise ValueError("a limit needs 'lower', 'upper' or both")
        if self.lower is not None and self.upper is not None and self.lower > self.upper:
            raise ValueError(f"lower {self.lower} lies above upper {self.upper}")
        return self

    @property
    def said_by(self) -> str:
        """The source as it is shown beside every judgement."""
        before = {"guide": "guide value, not the maker's: ", "shop": "the shop's own figure: "}
        kept = f" (not usual, kept by {self.acknowledged_by})" if self.acknowledged_by else ""
        return f"{before.get(self.kind, '')}{self.source}{kept}"


def check_runout_limit(name: str, limit: Limit) -> None:
    """Raise ValueError when a run-out limit cannot be one (a slip of unit or decimal point)."""
    for end in (limit.lower, limit.upper):
        if end is not None and not RUNOUT_LIMIT_MM_MIN <= end <= RUNOUT_LIMIT_MM_MAX:
            raise ValueError(
                f"{name}: a run-out limit of {end} mm cannot be one; usual are 0.03 to 0.05 mm, "
                f"taken are {RUNOUT_LIMIT_MM_MIN} to {RUNOUT_LIMIT_MM_MAX} mm (µm typed as mm, "
                "inch for mm, or a lost decimal point?)"
            )
