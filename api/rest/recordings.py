"""The raw trace behind a value: as it is stored, and as a recording that can be evaluated again."""

import asyncio
from collections.abc import Iterator
from decimal import Decimal
from typing import Annotated

from fastapi import APIRouter, Depends, HTTPException, Path, Response, status
from fastapi.responses import StreamingResponse

from api.rest.problems import RESPONSES
from api.service import Service, service_of
from daq.capture.trace import Trace, TraceError
from drivers.reading import Reading, State

router = APIRouter(responses=RESPONSES, tags=["traces"])
At = Annotated[Service, Depends(service_of)]
Sha256 = Annotated[str, Path(pattern="^[0-9a-f]{64}$", description="trace_sha256 of the value")]
# A hash names one content for ever.
KEPT = {"cache-control": "private, max-age=31536000, immutable"}
LINES_A_CHUNK = 4096


@router.get("/traces/{sha256}", response_class=Response)
async def trace(sha256: Sha256, service: At) -> Response:
    """The packed trace: the very bytes that have this hash."""
    packed = await service.run.read(lambda journal: journal.trace(sha256))
    return Response(packed, media_type="application/octet-stream", headers=KEPT)


@router.get("/traces/{sha256}/readings", response_class=StreamingResponse)
async def readings(sha256: Sha256, service: At) -> Response:
    """Its readings as CSV: `benchtally evaluate` gives the value from it once more."""
    packed = await service.run.read(lambda journal: journal.trace(sha256))
    try:
        found = await asyncio.to_thread(Trace.unpack, packed)
    except TraceError as error:  # brought in from elsewhere, with the hash that it has
        raise HTTPException(status.HTTP_503_SERVICE_UNAVAILABLE, str(error)) from None
    return StreamingResponse(_csv(found), media_type="text/csv", headers=KEPT)


def _csv(found: Trace) -> Iterator[str]:
    """Where the gauge gave no number, the cell is empty and `state` says why."""
    yield f"t_s,value_{found.unit.lower()},index,state\r\n"
    lines = [_line(reading) for reading in found.readings()]
    for start in range(0, len(lines), LINES_A_CHUNK):
        yield "".join(lines[start : start + LINES_A_CHUNK])


def _line(reading: Reading) -> str:
    value = "" if reading.state is not State.OK else f"{Decimal(repr(reading.value)):f}"
    return f"{Decimal(repr(reading.t_s)):f},{value},{int(reading.mark)},{reading.state.value}\r\n"
