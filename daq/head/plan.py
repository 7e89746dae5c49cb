"""Plans: the characteristics of a head in the order of the bench, with places and limits.

A plan is TOML; the same structure as JSON is what `POST /plans` takes. A job carries a copy of
its plan, so a record stays readable when the plan changes later.
"""

import tomllib
from decimal import Decimal
from functools import cached_property
from importlib import resources
from typing import Annotated, Literal, NamedTuple, Self

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from daq.head.characteristic import CATALOGUE, Characteristic, characteristic
from daq.head.errors import RefusedError
from daq.head.layout import Layout, side_of
from daq.head.limits import Limit, check_runout_limit
from daq.metrology.temperature import EXPANSIONS

Direction = Literal["along", "across"]


class Place(BaseModel):
    """Where on a part: how deep, and in which direction of the head."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    depth_mm: Annotated[Decimal, Field(ge=0, le=500, max_digits=9)]
    direction: Direction

    def __str__(self) -> str:
        return f"{self.depth_mm} mm deep, {self.direction}"


class Step(BaseModel):
    """One characteristic of a plan.

    depths_mm × directions are its places, none for a part measured once. limit holds for every
    position, limit_intake and limit_exhaust for their side. nominal_mm ± window_mm is what a
    reading can be at all: outside it the gauge is not on the part (an open micrometer stands
    still, too, and must not be taken for a stem). material: what the part is made of, by the
    names of `metrology.temperature`; with it and a noted temperature a size is brought to 20 °C.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    characteristic: str
    depths_mm: tuple[Annotated[Decimal, Field(ge=0, le=500, max_digits=9)], ...] = ()
    directions: tuple[Direction, ...] = ()
    limit: Limit | None = None
    limit_intake: Limit | None = None
    limit_exhaust: Limit | None = None
    nominal_mm: Annotated[Decimal, Field(ge=-100, le=1000)] | None = None
    window_mm: Annotated[Decimal, Field(gt=0, le=100)] | None = None
    material: str | None = None

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        if self.characteristic not in CATALOGUE:
            known = ", ".join(CATALOGUE)
            raise ValueError(
                f"there is no characteristic {self.characteristic!r}; there are {known}"
            )
        if self.material is not None and self.material not in EXPANSIONS:
            known = ", ".join(EXPANSIONS)
            raise ValueError(
                f"{self.characteristic}: material {self.material!r} is not one of {known}"
            )
        if bool(self.depths_mm) != bool(self.directions):
            raise ValueError(
                f"{self.characteristic}: places need both 'depths_mm' and 'directions'"
            )
        if (self.nominal_mm is None) != (self.window_mm is None):
            raise ValueError(
                f"{self.characteristic}: 'nominal_mm' and 'window_mm' are given together"
            )
        if self.characteristic.endswith("_runout") or self.characteristic.endswith(".runout"):
            for limit in (self.limit, self.limit_intake, self.limit_exhaust):
                if limit is not None:
                    check_runout_limit(self.characteristic, limit)
        return self

    @property
    def about(self) -> Characteristic:
        """What the catalogue says of this step's characteristic."""
        return characteristic(self.characteristic)

    @property
    def places(self) -> tuple[Place | None, ...]:
        """The places in the order of the bench; a single None for a part measured once."""
        if not self.depths_mm:
            return (None,)
        return tuple(
            Place(depth_mm=depth, direction=direction)
            for depth in self.depths_mm
            for direction in self.directions
        )

    def limit_at(self, position: str) -> Limit | None:
        """The limit that holds at `position`."""
        own = self.limit_intake if side_of(position) == "I" else self.limit_exhaust
        return own or self.limit


class Target(NamedTuple):
    """One thing to measure: which characteristic, at which valve, where on the part."""

    characteristic: str
    position: str
    place: Place | None


class Plan(BaseModel):
    """The characteristics of one kind of head, in order, with limits."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    name: Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]{0,63}$")]
    title: Annotated[str, Field(min_length=1, max_length=200)]
    source: Annotated[str, Field(min_length=1, max_length=500)]
    head: Layout
    steps: Annotated[tuple[Step, ...], Field(min_length=1, max_length=64)]

    @model_validator(mode="after")
    def _names_each_once(self) -> Self:
        names = [step.characteristic for step in self.steps]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise ValueError(f"{', '.join(twice)} stands twice in the plan; each stands once")
        return self

    def step(self, name: str) -> Step | None:
        """The step for that characteristic, or None when the plan does not measure it."""
        return next((step for step in self.steps if step.characteristic == name), None)

    @cached_property
    def targets(self) -> tuple[Target, ...]:
        """Everything to measure at the bench, in order: one set-up of a gauge at a time."""
        return tuple(
            Target(step.characteristic, position, place)
            for step in self.steps
            if step.about.capture is not None
            for position in self.head.positions
            for place in step.places
        )

    @cached_property
    def order(self) -> dict[Target, int]:
        """Each target's place in that order."""
        return {target: place for place, target in enumerate(self.targets)}


def plan_from_toml(text: str, file: str) -> Plan:
    """The plan that `text` describes. Raises RefusedError naming `file` and the key."""
    try:
        return Plan.model_validate(tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise RefusedError(f"{file}: this is not TOML: {error}") from None
    except ValidationError as error:
        raise RefusedError(f"{file}: {plan_fault(error)}") from None


def plan_fault(error: ValidationError) -> str:
    """The first fault of a refused plan as a sentence that names the key."""
    first = error.errors(include_url=False, include_context=False, include_input=False)[0]
    where = ".".join(str(part) for part in first["loc"]) or "plan"
    return f"{where}: {first['msg'].removeprefix('Value error, ')}"


def shipped_plans() -> dict[str, Plan]:
    """The plans that come with the product, by name; all are invented examples."""
    folder = resources.files("daq.head") / "plans"
    found = [
        plan_from_toml(item.read_text("utf-8"), item.name)
        for item in sorted(folder.iterdir(), key=lambda item: item.name)
        if item.name.endswith(".toml")
    ]
    return {plan.name: plan for plan in found}
