"""Jobs: opening, finding and reading them."""

import asyncio
from typing import Annotated

from fastapi import APIRouter, Depends, Query, status

from api.rest.answers import JobListed, JobRead, Jobs, Remaining, TargetListed
from api.rest.asked import JobAsked
from api.rest.bench import LAST_CURSOR
from api.rest.body import ExactRoute
from api.rest.once import Once, once
from api.rest.plans import plan_of
from api.rest.problems import RESPONSES
from api.service import Service, service_of
from daq.bench import OpenJob
from daq.head.changes import Opening
from daq.head.errors import ConflictError
from daq.head.plan import of_bank
from daq.head.record import Record
from daq.head.view import JobView, RecordView, job_view, record_view
from daq.records.finding import State
from daq.records.journal import Journal
from daq.records.rows import JobRow

router = APIRouter(route_class=ExactRoute, responses=RESPONSES, tags=["jobs"])
At = Annotated[Service, Depends(service_of)]


@router.post("/jobs", status_code=status.HTTP_201_CREATED)
async def open_job(
    asked: JobAsked, service: At, request: Annotated[Once, Depends(once)]
) -> JobView:
    """Open a job. With nothing else on the bench, its first characteristic goes up by itself."""

    async def change() -> OpenJob:
        number = asked.number
        same = await service.run.read(lambda journal: journal.jobs(number=number, limit=1))
        if same:
            raise ConflictError(
                f"job {number!r} was opened already at {same[0].opened_at}, with the id "
                f"{same[0].id}; go on with that one, or give this one another number"
            )
        plan = of_bank(await plan_of(service, asked.plan), asked.bank, asked.numbers)
        said = asked.model_dump(exclude={"plan", "bank", "numbers"})
        return OpenJob(Opening(plan=plan, bench=service.name, **said))

    async with service.opening:
        entries = await request.entries(change)
    return job_view(Record(entries))


@router.get("/jobs")
async def jobs(
    service: At,
    number: Annotated[str | None, Query(max_length=80)] = None,
    find: Annotated[
        str,
        Query(max_length=200, description="beginnings of words: number, customer, serial, plan"),
    ] = "",
    state: State | None = None,
    before: Annotated[int | None, Query(ge=1, le=LAST_CURSOR)] = None,
    limit: Annotated[int, Query(ge=1, le=1000)] = 100,
) -> Jobs:
    """Jobs, newest first: those with one number, or all that what is looked for finds."""

    def asked(journal: Journal) -> list[JobRow]:
        if number is not None:
            return journal.jobs(number=number, limit=limit)
        return journal.found(find, state, before=before, limit=limit + 1)

    rows = await service.run.read(asked)
    more = len(rows) > limit
    return Jobs(
        jobs=[_listed(row) for row in rows[:limit]], next=rows[limit - 1].ordinal if more else None
    )


def _listed(row: JobRow) -> JobListed:
    return JobListed(
        id=row.id,
        number=row.number,
        plan=row.plan,
        customer=row.customer,
        opened_at=row.opened_at,
        signed_at=row.signed_at,
        entries=row.entries,
        hash=row.hash,
    )


@router.get("/jobs/{job}")
async def job(job: str, service: At) -> JobRead:
    """One job."""
    record = await service.run.read(lambda journal: journal.record(job))
    return JobRead(**job_view(record).model_dump(), remaining=len(record.remaining))


@router.get("/jobs/{job}/remaining")
async def remaining(job: str, service: At) -> Remaining:
    """What the plan still asks for, in the order in which it goes up."""
    found = await service.run.read(lambda journal: journal.record(job))
    return Remaining(targets=[TargetListed(**each._asdict()) for each in found.remaining])


@router.get("/jobs/{job}/record")
async def record(job: str, service: At) -> RecordView:
    """The whole record: measurements, decisions with their reasons, and the state of the chain."""
    return await _view(service, job)


async def _view(service: Service, job: str) -> RecordView:
    found = await service.run.read(lambda journal: journal.record(job))
    return await asyncio.to_thread(record_view, found)
