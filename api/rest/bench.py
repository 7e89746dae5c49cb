"""The bench itself: what is up, its gauges, its health, and everything that was written."""

import shutil
from collections import Counter
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Query, Response, status

from api.events import event_of
from api.frames import gauge_shown, progress_shown, ring_shown
from api.rest.answers import Events, Gauges, Health, ToolListed
from api.rest.problems import RESPONSES
from api.service import STOPPED, Service, service_even_stopped, service_of
from api.version import VERSION
from daq.head.instrument import Instrument
from daq.head.tools import Tool, kinds
from daq.records.errors import RecordError
from daq.records.feed import Event

router = APIRouter(responses=RESPONSES, tags=["bench"])
At = Annotated[Service, Depends(service_of)]
EvenStopped = Annotated[Service, Depends(service_even_stopped)]
LAST_CURSOR = 2**63 - 1
# Read between two writes of the bench, which wait for it: a few milliseconds.
EVENTS_AT_ONCE = 100
# Below this a job of a few megabytes of traces may not fit any more.
FREE_BYTES_MIN = 32 * 1024 * 1024


@router.get("/health")
async def health(service: EvenStopped, response: Response) -> Health:
    """Whether readings reach the disk: 200 when they do, 503 when they do not."""
    run = service.run
    journal = await _journal(service)
    states = Counter(gauge.state.value for gauge in run.gauges)
    progress = run.progress()
    keeps = service.is_running and journal == "writable"
    if not keeps:
        response.status_code = status.HTTP_503_SERVICE_UNAVAILABLE
    troubles = [gauge.trouble for gauge in run.gauges if gauge.trouble]
    troubles += [] if service.push is None else service.push.troubles()
    troubles += [] if service.handing is None else service.handing.troubles()
    troubles += [] if service.is_running else [STOPPED]
    return Health(
        status="ok" if keeps and not troubles else "trouble",
        bench=service.name,
        version=VERSION,
        running=service.is_running,
        journal=journal,
        troubles=troubles,
        gauges=dict(states),
        up="" if progress.target is None else " ".join(progress.target[:2]),
        job=progress.job or None,
    )


async def _journal(service: Service) -> str:
    """`writable`, or what stands in the way of writing."""
    if not service.is_running or service.run.trouble:
        return service.run.trouble or STOPPED
    try:
        await service.run.read(lambda records: records.jobs(limit=1))
    except RecordError as error:
        return str(error)
    free = shutil.disk_usage(service.data).free
    if free < FREE_BYTES_MIN:
        return f"the disk of {service.data} is nearly full ({free // 2**20} MiB left); make room"
    return "writable"


@router.get("/bench")
async def bench(service: At) -> dict[str, Any]:
    """One look at the bench: what is up, how far it is, what comes next."""
    return progress_shown(service.run.progress())


@router.get("/gauges")
async def gauges(service: At) -> Gauges:
    """Every gauge, how it stands, and what it said last."""
    return Gauges(
        gauges=[
            gauge_shown(gauge, service.instruments[gauge.spec.name]) for gauge in service.run.gauges
        ],
        rings=[ring_shown(ring) for ring in service.rings],
        tools=[*map(_of_the_bench, service.tools.values()), *map(_of_a_kind, kinds().values())],
    )


def _of_the_bench(tool: Instrument) -> ToolListed:
    unit = kinds()[tool.kind].unit
    step = f"{tool.resolution_mm:g}"
    return ToolListed(name=tool.name, kind=tool.kind, unit=unit, step=step, usual_for=[])


def _of_a_kind(tool: Tool) -> ToolListed:
    usual = sorted(tool.usual_for)
    return ToolListed(
        name=tool.kind, kind=None, unit=tool.unit, step=str(tool.step), usual_for=usual
    )


async def _page(service: Service, after: int, most: int) -> list[Event]:
    return await service.run.read(lambda journal: journal.events(after, most))


@router.get("/events")
async def events(
    service: At,
    after: Annotated[int, Query(ge=0, le=LAST_CURSOR)] = 0,
    limit: Annotated[int, Query(ge=1, le=1000)] = 100,
) -> Events:
    """Everything that was written behind a cursor, in order, as CloudEvents."""
    found: list[Event] = []
    while len(found) < limit:
        behind = found[-1].cursor if found else after
        most = min(EVENTS_AT_ONCE, limit - len(found))
        page = await _page(service, behind, most)
        found += page
        if len(page) < most:
            break
    return Events(
        events=[event_of(event, service.name) for event in found],
        next=str(found[-1].cursor if found else after),
    )
