"""`Step`: one characteristic of a plan, with its places, limits and what is likely for it."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from daq.head.characteristic import CATALOGUE, Characteristic, characteristic
from daq.head.inches import in_mm
from daq.head.layout import HEAD, side_of
from daq.head.limits import Limit, check_runout_limit
from daq.head.place import Depth, Direction, Place, SpotName
from daq.metrology.temperature import EXPANSIONS

Length = Annotated[Decimal, Field(gt=0, le=500, max_digits=9)]


class At(BaseModel):
    """One place of a step with figures of its own: a line of a straight edge, a spring's length.

    spot or length_mm: which place. span_mm: a line that is no longer than this (flatness in any
    150 mm). height: whether the length is that of the closed or the open valve. nominal_n: the
    load of a new spring there. limit, limit_new: as those of the step.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    spot: SpotName | None = None
    length_mm: Length | None = None
    span_mm: Length | None = None
    height: Literal["fitted", "open"] | None = None
    nominal_n: Annotated[Decimal, Field(gt=0, le=100_000)] | None = None
    limit: Limit | None = None
    limit_new: Limit | None = None

    @model_validator(mode="before")
    @classmethod
    def _inches(cls, given: Any) -> Any:
        return in_mm(given, "length_mm", "span_mm")

    @model_validator(mode="after")
    def _is_a_place(self) -> Self:
        if (self.spot is None) == (self.length_mm is None):
            raise ValueError("a place under 'at' has either 'spot' or 'length_mm'")
        return self

    @property
    def place(self) -> Place:
        """The place that this is."""
        return Place(spot=self.spot, length_mm=self.length_mm)


class Step(BaseModel):
    """One characteristic of a plan.

    depths_mm × directions, or at, are its places, none for a part measured once. limit holds for
    every position, limit_intake and limit_exhaust for their side: the wear limit, or the only one
    there is; limit_new and its two sides hold after work or with a new part. nominal_mm ±
    window_mm is what a reading can be at all: outside it the gauge is not on the part (an open
    micrometer stands still, too, and must not be taken for a stem). material: what the part is
    made of, by the names of `metrology.temperature`; with it and a noted temperature a size is
    brought to 20 °C. volume_l: of a leak test, port and hose. hold_s: how long fluid has to stay.
    Lengths may be given in inches: `nominal_in` for `nominal_mm`, and so on.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    characteristic: str
    depths_mm: tuple[Depth, ...] = ()
    directions: tuple[Direction, ...] = ()
    at: Annotated[tuple[At, ...], Field(max_length=16)] = ()
    limit: Limit | None = None
    limit_intake: Limit | None = None
    limit_exhaust: Limit | None = None
    limit_new: Limit | None = None
    limit_new_intake: Limit | None = None
    limit_new_exhaust: Limit | None = None
    nominal_mm: Annotated[Decimal, Field(ge=-100, le=1000)] | None = None
    window_mm: Annotated[Decimal, Field(gt=0, le=100)] | None = None
    material: str | None = None
    volume_l: Annotated[Decimal, Field(gt=0, le=1000)] | None = None
    hold_s: Annotated[Decimal, Field(gt=0, le=86_400)] | None = None

    @model_validator(mode="before")
    @classmethod
    def _inches(cls, given: Any) -> Any:
        return in_mm(given, "depths_mm", "nominal_mm", "window_mm")

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        name = self.characteristic
        if name not in CATALOGUE:
            known = ", ".join(CATALOGUE)
            raise ValueError(f"there is no characteristic {name!r}; there are {known}")
        if self.material is not None and self.material not in EXPANSIONS:
            known = ", ".join(EXPANSIONS)
            raise ValueError(f"{name}: material {self.material!r} is not one of {known}")
        if bool(self.depths_mm) != bool(self.directions):
            raise ValueError(f"{name}: places need both 'depths_mm' and 'directions'")
        if self.depths_mm and self.at:
            raise ValueError(f"{name}: places are either 'depths_mm' and 'directions', or 'at'")
        if len(set(self.places)) < len(self.places):
            raise ValueError(f"{name}: a place stands twice")
        if (self.nominal_mm is None) != (self.window_mm is None):
            raise ValueError(f"{name}: 'nominal_mm' and 'window_mm' are given together")
        self._has_what_it_needs()
        if name.endswith("runout"):
            for _, limit in self.limits:
                check_runout_limit(name, limit)
        return self

    def _has_what_it_needs(self) -> None:
        name = self.characteristic
        if name == "spring.load" and not (self.at and all(each.length_mm for each in self.at)):
            raise ValueError(
                "spring.load is measured at a length: give 'at' with a 'length_mm' for each"
            )
        if name == "seat.leak" and self.volume_l is None:
            raise ValueError(
                "seat.leak needs 'volume_l', the volume under test with port and hose: the loss "
                "of pressure is a leak only together with it"
            )

    @property
    def about(self) -> Characteristic:
        """What the catalogue says of this step's characteristic."""
        return characteristic(self.characteristic)

    @property
    def places(self) -> tuple[Place | None, ...]:
        """The places in the order of the bench; a single None for a part measured once."""
        if self.at:
            return tuple(each.place for each in self.at)
        if not self.depths_mm:
            return (None,)
        return tuple(
            Place(depth_mm=depth, direction=direction)
            for depth in self.depths_mm
            for direction in self.directions
        )

    @property
    def limits(self) -> Iterator[tuple[str, Limit]]:
        """Every limit that is given, with its key."""
        for key in _KEYS:
            limit = getattr(self, key)
            if limit is not None:
                yield key, limit
        for number, each in enumerate(self.at):
            for key in ("limit", "limit_new"):
                limit = getattr(each, key)
                if limit is not None:
                    yield f"at.{number}.{key}", limit

    def at_place(self, place: Place | None) -> At | None:
        """The figures of one place, where it has some."""
        return next((each for each in self.at if each.place == place), None)

    def limit_at(self, position: str, place: Place | None = None) -> Limit | None:
        """The wear limit, or the only one, that this plan gives for that position and place."""
        return self._given(position, place, "limit")

    def limit_new_at(self, position: str, place: Place | None = None) -> Limit | None:
        """The limit for new that this plan gives for that position and place."""
        return self._given(position, place, "limit_new")

    def _given(self, position: str, place: Place | None, key: str) -> Limit | None:
        here = self.at_place(place)
        own: Limit | None = None if here is None else getattr(here, key)
        if own is None and position != HEAD:
            side = "intake" if side_of(position) == "I" else "exhaust"
            own = getattr(self, f"{key}_{side}")
        general: Limit | None = getattr(self, key)
        return own or general


_KEYS = (
    "limit",
    "limit_intake",
    "limit_exhaust",
    "limit_new",
    "limit_new_intake",
    "limit_new_exhaust",
)
