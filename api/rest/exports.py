"""Exports over HTTP: the record of a job as a file, streamed, and what the files mean."""

import asyncio
from collections.abc import AsyncIterator, Iterator
from typing import Annotated

from fastapi import APIRouter, Depends, HTTPException, Query, Request, Response
from fastapi.responses import StreamingResponse

from api.export import DESCRIPTION, ExportError, file_stem, writer_for
from api.export.csvw import MEDIA_TYPE as DESCRIPTION_TYPE
from api.export.given import LengthUnit, Paper
from api.export.json import SCHEMA_MEDIA_TYPE, schema
from api.exporting import Wishes, begun, whole
from api.rest.problems import RESPONSES
from api.service import Service, service_of

router = APIRouter(responses=RESPONSES, tags=["exports"])
At = Annotated[Service, Depends(service_of)]


@router.get("/schemas/record.json", response_class=Response)
async def record_schema() -> Response:
    """The JSON Schema of a record exported as JSON."""
    return Response(schema(), media_type=SCHEMA_MEDIA_TYPE)


@router.get("/jobs/{job}/export/{format_}", response_class=StreamingResponse)
async def export(
    job: str,
    format_: str,
    service: At,
    request: Request,
    paper: Annotated[Paper, Query(description="of the PDF")] = "a4",
    length: Annotated[LengthUnit, Query(description="unit of lengths in the PDF")] = "mm",
) -> Response:
    """The record as a file. A table is described by `…/FORMAT-metadata.json` beside it."""
    if format_.endswith(DESCRIPTION):
        described = format_.removesuffix(DESCRIPTION)
        describe = writer_for(described).describe
        if describe is not None:
            return Response(describe(described), media_type=DESCRIPTION_TYPE)
    writer = writer_for(format_)
    wishes = Wishes(paper, length, service.qif_check, str(request.base_url))
    found = await service.run.read(lambda journal: whole(journal, job, wishes))
    try:
        first, rest = await asyncio.to_thread(begun, writer, found)
    except ExportError as error:
        raise HTTPException(503, str(error)) from None
    name = f"{file_stem(found.view)}{writer.suffix}"
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    if writer.describe is not None:
        headers["link"] = f'<{format_}{DESCRIPTION}>; rel="describedby"; type="{DESCRIPTION_TYPE}"'
    return StreamingResponse(_stream(first, rest), headers=headers, media_type=writer.media_type)


async def _stream(first: bytes, rest: Iterator[bytes]) -> AsyncIterator[bytes]:
    yield first
    while (chunk := await asyncio.to_thread(next, rest, None)) is not None:
        yield chunk
