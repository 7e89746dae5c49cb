"""`Place`: where on a part a reading is taken."""

from decimal import Decimal
from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from daq.head.inches import in_mm

Direction = Literal["along", "across"]
Depth = Annotated[Decimal, Field(ge=0, le=500, max_digits=9)]
SpotName = Annotated[str, Field(min_length=1, max_length=40, pattern=r"^[^\x00-\x1f\x7f]+$")]


def _absent(value: Any) -> bool:
    return value is None


class Place(BaseModel):
    """One of three: how deep and in which direction of the head; at which length (a spring's
    load); or a spot or line with a name (the lines of a straight edge)."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    depth_mm: Depth | None = Field(default=None, exclude_if=_absent)
    direction: Direction | None = Field(default=None, exclude_if=_absent)
    length_mm: Annotated[Decimal, Field(gt=0, le=500, max_digits=9)] | None = Field(
        default=None, exclude_if=_absent
    )
    spot: SpotName | None = Field(default=None, exclude_if=_absent)

    @model_validator(mode="before")
    @classmethod
    def _inches(cls, given: Any) -> Any:
        return in_mm(given, "depth_mm", "length_mm")

    @model_validator(mode="after")
    def _is_one(self) -> Self:
        if (self.depth_mm is None) != (self.direction is None):
            lacking = "direction" if self.direction is None else "depth_mm"
            raise ValueError(f"{lacking} is missing; a depth and a direction go together")
        given = [self.depth_mm is not None, self.length_mm is not None, self.spot is not None]
        if sum(given) != 1:
            raise ValueError(
                "has to hold depth_mm and direction, or length_mm, or spot, and only one of them"
            )
        return self

    def __str__(self) -> str:
        if self.spot is not None:
            return self.spot
        if self.length_mm is not None:
            return f"at {self.length_mm} mm"
        return f"{self.depth_mm} mm deep, {self.direction}"
