"""What the steps of a plan are judged by as found: their own limits, and else the guide values."""

from collections.abc import Iterator

from pydantic import BaseModel, ConfigDict

from daq.head.layout import HEAD, Side, side_of
from daq.head.limits import Limit
from daq.head.place import Place
from daq.head.plan import Plan, Target
from daq.head.ruling import ruling
from daq.head.step import Step


class InForce(BaseModel):
    """A limit in force. side: the valves it holds for, null for every one and for the head. place:
    where on the part, null for everywhere."""

    model_config = ConfigDict(frozen=True)

    characteristic: str
    side: Side | None
    place: Place | None
    limit: Limit


def in_force(plan: Plan) -> list[InForce]:
    """The limits, step by step, each said once for all that it holds for."""
    return [each for step in plan.steps for each in _of(plan, step)]


def _of(plan: Plan, step: Step) -> Iterator[InForce]:
    name = step.characteristic
    found: dict[Side | None, dict[Place | None, Limit | None]] = {}
    for position in plan.positions_of(name):
        side = None if position == HEAD else side_of(position)
        if side not in found:
            found[side] = {place: _limit(plan, name, position, place) for place in step.places}
    if len(found) > 1 and len({str(limits) for limits in found.values()}) == 1:
        found = {None: next(iter(found.values()))}
    for side, limits in found.items():
        for place, limit in _everywhere(limits).items():
            if limit is not None:
                yield InForce(characteristic=name, side=side, place=place, limit=limit)


def _limit(plan: Plan, name: str, position: str, place: Place | None) -> Limit | None:
    found = ruling(plan, Target(name, position, place))
    return None if found is None else found.limit


def _everywhere(limits: dict[Place | None, Limit | None]) -> dict[Place | None, Limit | None]:
    """By place; as one where it is the same at every place."""
    first = next(iter(limits.values()))
    return {None: first} if all(each == first for each in limits.values()) else limits
