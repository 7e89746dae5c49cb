"""The stored readings of one measurement, thinned to what a screen can show."""

import math
from typing import Annotated

from fastapi import APIRouter, Depends
from pydantic import BaseModel

from api.export.sheet.drawing import thinned
from api.rest.problems import RESPONSES
from api.service import Service, service_of
from daq.capture.trace import Trace, TraceError
from daq.head.errors import UnknownError
from daq.head.record import EntryKind
from daq.records.errors import AlteredError

router = APIRouter(responses=RESPONSES, tags=["jobs"])
At = Annotated[Service, Depends(service_of)]


class TraceShown(BaseModel):
    """The readings behind a value. readings: how many there are. t_s, value: the highest and the
    lowest of each piece, time from the first reading on. marks: when the index mark was seen."""

    unit: str
    readings: int
    t_s: list[float]
    value: list[float]
    marks: list[float]


@router.get("/jobs/{job}/measurements/{measurement}/trace")
async def trace(job: str, measurement: str, service: At) -> TraceShown:
    """What the gauge said while this value was taken."""
    record = await service.run.read(lambda journal: journal.record(job))
    kept = (each for each in record.of_kind(EntryKind.KEPT) if each.id == measurement)
    entry = next(kept, None)
    if entry is None:
        raise UnknownError(f"job {job!r} has no measurement {measurement!r}")
    sha256 = entry.body.get("trace_sha256")
    if sha256 is None:
        raise UnknownError("this value has no trace: it was keyed in or sent, not captured")
    packed = await service.run.read(lambda journal: journal.trace(sha256))
    try:
        return _shown(Trace.unpack(packed))
    except TraceError as error:
        raise AlteredError(f"the trace of {measurement} cannot be read: {error}") from None


def _shown(trace: Trace) -> TraceShown:
    readings = trace.readings()
    begin = readings[0].t_s
    finite = [each for each in readings if math.isfinite(each.value)]
    kept = [finite[place] for place in thinned([each.value for each in finite])]
    return TraceShown(
        unit=trace.unit.value,
        readings=len(readings),
        t_s=[round(each.t_s - begin, 4) for each in kept],
        value=[each.value for each in kept],
        marks=[round(each.t_s - begin, 4) for each in readings if each.mark],
    )
