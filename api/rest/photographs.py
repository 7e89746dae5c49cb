"""Photographs of a job and its parts: sent as they are, listed, and handed out again."""

import asyncio
from typing import Annotated, Any, ClassVar

from fastapi import APIRouter, Depends, Query, Request, Response, status
from pydantic import BaseModel

from api.rest.asked import Name, Person, Remark
from api.rest.body import ExactRequest, ExactRoute
from api.rest.once import Once, once
from api.rest.problems import RESPONSES
from api.service import Service, service_of
from daq.bench import Change
from daq.bench import Photograph as KeepPhotograph
from daq.head.photograph import (
    BYTES_MOST,
    Photograph,
    Photographed,
    photograph_in,
    photograph_of,
    photographs_of,
)


class _PictureRequest(ExactRequest):
    bytes_most: ClassVar = BYTES_MOST


class PictureRoute(ExactRoute):
    """A route whose body may be as large as a picture."""

    request_class: ClassVar = _PictureRequest


router = APIRouter(route_class=PictureRoute, responses=RESPONSES, tags=["photographs"])
At = Annotated[Service, Depends(service_of)]
Sent = Annotated[Once, Depends(once)]

_BINARY = {"schema": {"type": "string", "format": "binary"}}
_PICTURES = {"image/jpeg": _BINARY, "image/png": _BINARY}
_BODY: dict[str, Any] = {"requestBody": {"required": True, "content": _PICTURES}}


class Photographs(BaseModel):
    """The photographs of a job, oldest first."""

    photographs: list[Photograph]


@router.post("/jobs/{job}/photographs", status_code=status.HTTP_201_CREATED, openapi_extra=_BODY)
async def add(
    job: str,
    request: Request,
    sent: Sent,
    position: Annotated[Name | None, Query()] = None,
    part: Annotated[Name | None, Query()] = None,
    person: Annotated[Person | None, Query()] = None,
    note: Annotated[Remark | None, Query()] = None,
) -> Photograph:
    """Keep a picture in JPEG or PNG, as it is; without a position it is of the whole job."""
    asked = Photographed(await request.body(), position, part, person, note)

    async def change() -> Change:
        return KeepPhotograph(job, asked)

    return photograph_of((await sent.entries(change))[0])


@router.get("/jobs/{job}/photographs")
async def photographs(job: str, service: At) -> Photographs:
    """What was photographed."""
    record = await service.run.read(lambda journal: journal.record(job))
    return Photographs(photographs=list(photographs_of(record)))


@router.get(
    "/jobs/{job}/photographs/{photograph}",
    response_class=Response,
    responses={200: {"content": _PICTURES}},
)
async def picture(job: str, photograph: str, service: At) -> Response:
    """The picture, byte for byte as it came."""
    record = await service.run.read(lambda journal: journal.record(job))
    found = photograph_in(record, photograph)
    files = await service.run.read(lambda journal: journal.photographs)
    data = await asyncio.to_thread(files.read, found)
    name = f'inline; filename="{found.file_name}"'
    return Response(data, media_type=found.media_type, headers={"content-disposition": name})
