"""Plans: reading, adding, filling in limits, and what an editor of plans needs to know."""

from decimal import Decimal
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Depends, status
from pydantic import BaseModel, Field

from api.rest.answers import Plans
from api.rest.asked import Asked
from api.rest.body import ExactRoute
from api.rest.problems import RESPONSES
from api.service import Service, service_of
from daq.head.caution import Caution, cautions_for
from daq.head.characteristic import CATALOGUE
from daq.head.errors import UnknownError
from daq.head.guide_values import plausible_mm
from daq.head.in_force import InForce, in_force
from daq.head.limits_csv import with_limits
from daq.head.plan import Plan, shipped_plans, unasked

router = APIRouter(route_class=ExactRoute, responses=RESPONSES, tags=["plans"])
At = Annotated[Service, Depends(service_of)]
CSV_CHARS_MAX = 60_000


class CautionShown(BaseModel):
    """One warning to show before the act, and where it comes from."""

    text: str
    source: str


class Catalogued(BaseModel):
    """One characteristic that a plan can ask for. usual_mm: limits outside are asked about."""

    name: str
    part: str
    stage: str
    capture: Literal["turn", "rock", "settle", "decay", "look"] | None
    unit: str
    gauge: str
    zeroing: str
    places: str
    limit: str
    where: str
    source: str
    usual_mm: tuple[Decimal, Decimal] | None
    cautions: list[CautionShown]


class Catalogue(BaseModel):
    """Everything that a plan can be made of. plan_schema: JSON Schema of a plan."""

    characteristics: list[Catalogued]
    plan_schema: dict[str, Any]


class LimitsAsked(Asked):
    """Limits as a table: the text of a CSV with a header. keep: add the plan that comes of it."""

    csv: Annotated[str, Field(min_length=1, max_length=CSV_CHARS_MAX)]
    keep: Annotated[bool, Field(strict=True)] = False


class BadRowShown(BaseModel):
    """A row that was not taken, and why. line: in the file, from 1."""

    line: int
    text: str


class LimitsTaken(BaseModel):
    """The plan with the rows that were good, and the ones that were not taken."""

    plan: Plan
    taken: int
    bad: list[BadRowShown]
    kept: bool


async def known_plans(service: Service) -> dict[str, Plan]:
    """Every plan by name; one that was added stands in for a shipped one of its name."""
    added = await service.run.read(lambda journal: journal.plans())
    return {**shipped_plans(), **{plan.name: plan for plan in added}}


async def plan_of(service: Service, name: str) -> Plan:
    """The plan of that name. Raises UnknownError with the names there are."""
    known = await known_plans(service)
    if name not in known:
        raise UnknownError(f"there is no plan {name!r}; there are {', '.join(sorted(known))}")
    return known[name]


@router.get("/plans")
async def plans(service: At) -> Plans:
    """Every plan a job can be opened with."""
    found = await known_plans(service)
    return Plans(plans=[found[name] for name in sorted(found)])


@router.post("/plans", status_code=status.HTTP_201_CREATED)
async def add_plan(plan: Plan, service: At) -> Plan:
    """Add a plan, or a new version of one; jobs that are open keep their own copy."""
    unasked(plan)
    await service.run.read(lambda journal: journal.add_plan(plan))
    return plan


@router.get("/plans/{plan}/limits")
async def limits(plan: str, service: At) -> list[InForce]:
    """What each step is judged by as found: the plan's own limit, else a guide value."""
    return in_force(await plan_of(service, plan))


@router.post("/plans/{plan}/limits")
async def fill_in(plan: str, asked: LimitsAsked, service: At) -> LimitsTaken:
    """Fill limits from a CSV into a plan: good rows are taken, bad ones named with the reason."""
    imported = with_limits(await plan_of(service, plan), asked.csv)
    kept = asked.keep and imported.taken > 0
    if kept:
        await service.run.read(lambda journal: journal.add_plan(imported.plan))
    bad = [BadRowShown(line=row.line, text=row.text) for row in imported.bad]
    return LimitsTaken(plan=imported.plan, taken=imported.taken, bad=bad, kept=kept)


@router.get("/characteristics")
async def characteristics() -> Catalogue:
    """What a plan can ask for, with the cautions, and the schema of a plan."""
    found = [
        Catalogued(
            name=each.name,
            part=each.part,
            stage=each.stage,
            capture=each.capture,
            unit=each.unit,
            gauge=each.gauge,
            zeroing=each.zeroing,
            places=each.places,
            limit=each.limit,
            where=each.where,
            source=each.source,
            usual_mm=plausible_mm(each.name),
            cautions=[_shown(caution) for caution in cautions_for(each.name)],
        )
        for each in CATALOGUE.values()
    ]
    return Catalogue(characteristics=found, plan_schema=Plan.model_json_schema())


def _shown(caution: Caution) -> CautionShown:
    return CautionShown(text=caution.said, source=caution.source)
