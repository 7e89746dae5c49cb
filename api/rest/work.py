"""What follows from a record: the list of work, the offer to sort valves, what may still be cut.

All three are worked out when they are asked for; nothing is stored.
"""

import asyncio
from typing import Annotated

from fastapi import APIRouter, Depends, Query

from api.rest.body import ExactRoute
from api.rest.problems import RESPONSES
from api.service import Service, service_of
from daq.head.errors import RefusedError
from daq.head.keeping import check_position
from daq.head.layout import HEAD
from daq.head.matching import Offer, matching_offer
from daq.head.record import Record
from daq.head.remaining_stock import Cut
from daq.head.view import record_view
from daq.head.what_if import WhatIf, what_if
from daq.head.work_list import WorkList, work_list

router = APIRouter(route_class=ExactRoute, responses=RESPONSES, tags=["what follows"])
At = Annotated[Service, Depends(service_of)]
Stock = Annotated[float, Query(ge=0, le=10)]


@router.get("/jobs/{job}/work")
async def work(job: str, service: At) -> WorkList:
    """What has to be done to the head, in the order of the trade, each with its reasons."""
    record = await _record(service, job)

    def listed() -> WorkList:
        view = record_view(record)
        return work_list(view, matching_offer(record.plan, view))

    return await asyncio.to_thread(listed)


@router.get("/jobs/{job}/matching")
async def matching(job: str, service: At) -> Offer:
    """Which valve into which guide would save parts. Nothing is moved by asking."""
    record = await _record(service, job)
    return await asyncio.to_thread(lambda: matching_offer(record.plan, record_view(record)))


@router.get("/jobs/{job}/what-if")
async def grind(
    job: str,
    position: str,
    service: At,
    seat_mm: Stock = 0.0,
    face_mm: Stock = 0.0,
    tip_mm: Stock = 0.0,
    angle_deg: Annotated[float | None, Query(ge=1, le=75)] = None,
) -> WhatIf:
    """What may still come off seat, face and tip at a position, and the heights after a cut.

    Amounts are along the axis of the valve, as a depth gauge sees them; with the angle of the
    seat, what is left is also given square to its face.
    """
    record = await _record(service, job)
    check_position(record.plan, position)
    if position == HEAD:
        raise RefusedError("ask at the position of a valve, like '1I'; the head itself has no seat")
    cuts: dict[Cut, float] = {"seat": seat_mm, "face": face_mm, "tip": tip_mm}
    return await asyncio.to_thread(
        lambda: what_if(record.plan, record_view(record), position, cuts, angle_deg=angle_deg)
    )


async def _record(service: Service, job: str) -> Record:
    return await service.run.read(lambda journal: journal.record(job))
