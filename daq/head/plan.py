"""Plans: the characteristics of a head in the order of the bench, with places and limits.

A plan is TOML; the same structure as JSON is what `POST /plans` takes. A job carries a copy of
its plan, so a record stays readable when the plan changes later.
"""

import tomllib
from collections.abc import Sequence
from functools import cached_property
from importlib import resources
from typing import Annotated, Literal, NamedTuple, Self

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator
from pydantic_core import ErrorDetails

from daq.head.characteristic import CATALOGUE
from daq.head.doubts import Doubt, doubts
from daq.head.errors import RefusedError
from daq.head.layout import HEAD, Bank, Layout
from daq.head.place import Direction, Place
from daq.head.step import At, Step
from daq.head.toml_lines import line_of
from daq.metrology.temperature import EXPANSIONS

__all__ = [
    "At",
    "Direction",
    "Place",
    "Plan",
    "Step",
    "Target",
    "of_bank",
    "plan_from_toml",
    "shipped_plans",
    "unasked",
]


class Target(NamedTuple):
    """One thing to measure: which characteristic, at which valve, where on the part."""

    characteristic: str
    position: str
    place: Place | None


class Plan(BaseModel):
    """The characteristics of one kind of head, in order, with limits.

    unit: what the page shows and asks for lengths in; the core works in millimetres. material: of
    the head, by the names of `metrology.temperature`.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    name: Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]{0,63}$")]
    title: Annotated[str, Field(min_length=1, max_length=200)]
    source: Annotated[str, Field(min_length=1, max_length=500)]
    unit: Literal["mm", "in"] = "mm"
    material: str | None = Field(default=None, exclude_if=lambda material: material is None)
    head: Layout
    steps: Annotated[tuple[Step, ...], Field(min_length=1, max_length=64)]

    @model_validator(mode="after")
    def _names_each_once(self) -> Self:
        names = [step.characteristic for step in self.steps]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise ValueError(f"{', '.join(twice)} stands twice in the plan; each stands once")
        if self.material is not None and self.material not in EXPANSIONS:
            known = ", ".join(EXPANSIONS)
            raise ValueError(f"material {self.material!r} is not one of {known}")
        return self

    def step(self, name: str) -> Step | None:
        """The step for that characteristic, or None when the plan does not measure it."""
        return next((step for step in self.steps if step.characteristic == name), None)

    def positions_of(self, name: str) -> tuple[str, ...]:
        """Where a characteristic is measured: at every valve, or once, at `head`."""
        return (HEAD,) if CATALOGUE[name].part == "head" else self.head.positions

    @property
    def doubts(self) -> list[Doubt]:
        """What is to be asked before this plan is taken for a new job."""
        return doubts(self.steps)

    @cached_property
    def targets(self) -> tuple[Target, ...]:
        """Everything to measure at the bench, in order: one set-up of a gauge at a time."""
        return tuple(
            Target(step.characteristic, position, place)
            for step in self.steps
            if step.about.capture is not None
            for position in self.positions_of(step.characteristic)
            for place in step.places
        )

    @cached_property
    def order(self) -> dict[Target, int]:
        """Each target's place in that order."""
        return {target: place for place, target in enumerate(self.targets)}


def plan_from_toml(text: str, file: str) -> Plan:
    """The plan that `text` describes. Raises RefusedError with file, line and key of each fault."""
    try:
        plan = Plan.model_validate(tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise RefusedError(f"{file}: this is not TOML: {error}") from None
    except ValidationError as error:
        said = [
            f"{file}, line {line_of(text, fault['loc'])}: {_sentence(fault)}"
            for fault in error.errors(include_url=False, include_context=False)
        ]
        raise RefusedError("\n".join(said)) from None
    asked = [f"{file}, line {line_of(text, doubt.loc)}: {doubt.text}" for doubt in plan.doubts]
    if asked:
        raise RefusedError("\n".join(asked))
    return plan


def unasked(plan: Plan) -> Plan:
    """`plan`, when there is nothing to ask about it. Raises RefusedError with what there is."""
    if plan.doubts:
        raise RefusedError("; ".join(doubt.text for doubt in plan.doubts))
    return plan


def of_bank(plan: Plan, bank: Bank | None, numbers: Sequence[int]) -> Plan:
    """`plan` for the head of that bank, with its cylinders front to rear; None and none leave
    what the plan says. Raises RefusedError."""
    said = {"bank": bank or plan.head.bank, "numbers": numbers or plan.head.numbers}
    try:
        # Read anew, not copied: a copy would keep the positions it worked out before.
        return Plan.model_validate(
            {**plan.model_dump(), "head": {**plan.head.model_dump(), **said}}
        )
    except ValidationError as error:
        raise RefusedError(_sentence(error.errors()[0])) from None


def _sentence(fault: ErrorDetails) -> str:
    where = ".".join(str(part) for part in fault["loc"]) or "plan"
    if fault["type"] == "extra_forbidden":
        return f"{where} is not a key that is known here"
    return f"{where}: {fault['msg'].removeprefix('Value error, ')}"


def shipped_plans() -> dict[str, Plan]:
    """The plans that come with the product, by name; all are invented examples."""
    folder = resources.files("daq.head") / "plans"
    found = [
        plan_from_toml(item.read_text("utf-8"), item.name)
        for item in folder.iterdir()
        if item.name.endswith(".toml")
    ]
    return {plan.name: plan for plan in sorted(found, key=lambda plan: plan.name)}
