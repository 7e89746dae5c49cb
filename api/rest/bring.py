"""Bringing in: what a file says is shown first, and counts only when asked for with `keep`."""

import base64
import hashlib
from datetime import date
from typing import Annotated, Any, ClassVar

from fastapi import APIRouter, Depends
from pydantic import BaseModel, Field

from api.bring.calibrations import Accepted, keep
from api.bring.dcc import Certificate, read
from api.bring.measurements import Brought, measurements
from api.bring.plans import limited_by, plan_from
from api.bring.rows import Row, from_csv, from_xlsx
from api.build import wall_time
from api.rest.asked import Asked, Name, Person
from api.rest.body import ExactRequest, ExactRoute
from api.rest.commands import keyed_of
from api.rest.keyed_back import CheckedShown, checked_shown
from api.rest.once import Once
from api.rest.plans import BadRowShown, plan_of
from api.rest.problems import RESPONSES
from api.service import Service, service_of
from daq.bench import KeyIn
from daq.head.errors import RefusedError, UnknownError
from daq.head.keeping import checked_target
from daq.head.keyed import checked
from daq.head.layout import Layout
from daq.head.plan import Plan, unasked
from daq.head.record import Record

# A workbook with all the rows that are taken, or a certificate with its pictures, fits.
FILE_BYTES_MOST = 2 * 1024 * 1024


class FileRequest(ExactRequest):
    """A request that carries a file as text: a table, a workbook, a certificate."""

    bytes_most: ClassVar = FILE_BYTES_MOST


class FileRoute(ExactRoute):
    """A route whose body may be as large as a file that a person brings."""

    request_class: ClassVar = FileRequest


router = APIRouter(route_class=FileRoute, responses=RESPONSES, tags=["bringing in"])
At = Annotated[Service, Depends(service_of)]
Text = Annotated[str, Field(min_length=1, max_length=FILE_BYTES_MOST)]
Yes = Annotated[bool, Field(strict=True)]


class TableAsked(Asked):
    """A table: the text of a CSV, or a workbook in base64. keep: do it, and not only show it."""

    csv: Text | None = None
    xlsx: Text | None = None
    keep: Yes = False


class MeasurementsAsked(TableAsked):
    """Measurements. person: who measured, where a row does not say. right: lines whose value
    somebody has looked at and says is right although it is unlikely."""

    person: Person | None = None
    right: Annotated[tuple[int, ...], Field(max_length=2000)] = ()


class PlanBrought(TableAsked):
    """A plan: what the table does not say."""

    name: Name
    title: Name
    source: Annotated[str, Field(min_length=1, max_length=500)]
    head: Layout


class CalibrationAsked(Asked):
    """A digital calibration certificate for a gauge of this bench. due: the shop's word on how
    long it holds, needed to keep it."""

    dcc: Text
    gauge: Name
    person: Person | None = None
    due: date | None = None
    keep: Yes = False


class RowShown(BaseModel):
    """A good row as it would be kept, or was."""

    line: int
    checked: CheckedShown
    measurement_id: str | None = None


class MeasurementsBrought(BaseModel):
    """The rows that can be kept, and the bad ones with why. kept: how many are in the record."""

    rows: list[RowShown]
    bad: list[BadRowShown]
    kept: int


class PlanTaken(BaseModel):
    """The plan with the rows that were good, and the ones that were not taken."""

    plan: Plan
    taken: int
    bad: list[BadRowShown]
    kept: bool


class CalibrationShown(BaseModel):
    """What the certificate says. doubts: what stands against keeping it; none may be left but
    those of the certificate itself. counts_from: "" until it is kept."""

    certificate: Certificate
    error_limit_mm: str | None
    doubts: list[str]
    kept: bool
    counts_from: str


@router.post("/jobs/{job}/bring")
async def bring_measurements(
    job: str, asked: MeasurementsAsked, service: At
) -> MeasurementsBrought:
    """Measurements from a table: shown as they would be kept, each bad row with its reason."""
    good, bad = measurements(_table(asked), asked.person)
    shown: list[RowShown] = []
    wrong = [BadRowShown(line=line, text=text) for line, text in bad]
    record = await service.run.read(lambda journal: journal.record(job))
    for row in good:
        try:
            shown.append(await _row(service, job, record, row, asked))
        except RefusedError as error:
            wrong.append(BadRowShown(line=row.line, text=str(error)))
    kept = sum(row.measurement_id is not None for row in shown)
    return MeasurementsBrought(rows=shown, bad=sorted(wrong, key=lambda each: each.line), kept=kept)


async def _row(
    service: Service, job: str, record: Record, row: Brought, asked: MeasurementsAsked
) -> RowShown:
    value = row.asked.model_copy(update={"confirmed": row.line in asked.right})
    target = checked_target(record.plan, value.characteristic, value.position, value.place)
    keyed = keyed_of(service, target, value)
    seen = checked_shown(checked(record, keyed), record.plan.unit)
    if not asked.keep:
        return RowShown(line=row.line, checked=seen)

    async def change() -> KeyIn:
        return KeyIn(job, keyed)

    # A file that is brought twice is kept once, row by row.
    digest = hashlib.sha256(f"{job}\n{asked.csv or asked.xlsx}".encode()).hexdigest()
    entries = await Once(service, f"bring:{digest}:{row.line}", digest).entries(change)
    return RowShown(line=row.line, checked=seen, measurement_id=entries[0].id)


@router.post("/plans/bring")
async def bring_plan(asked: PlanBrought, service: At) -> PlanTaken:
    """A plan from a table, one row a step; limits may stand in the same rows."""
    about: dict[str, Any] = asked.model_dump(include={"name", "title", "source", "head"})
    brought = plan_from(_table(asked), about)
    if asked.keep:
        unasked(brought.plan)
        await service.run.read(lambda journal: journal.add_plan(brought.plan))
    bad = [BadRowShown(line=line, text=text) for line, text in brought.bad]
    return PlanTaken(plan=brought.plan, taken=brought.taken, bad=bad, kept=asked.keep)


@router.post("/plans/{plan}/bring")
async def bring_limits(plan: str, asked: TableAsked, service: At) -> PlanTaken:
    """Limits from a table into a plan that is there."""
    rows = _table(asked)
    found, wrong = limited_by(await plan_of(service, plan), rows)
    taken = len(rows) - len(wrong)
    kept = asked.keep and taken > 0
    if kept:
        await service.run.read(lambda journal: journal.add_plan(unasked(found)))
    bad = [BadRowShown(line=line, text=text) for line, text in wrong]
    return PlanTaken(plan=found, taken=taken, bad=bad, kept=kept)


@router.post("/gauges/calibration")
async def bring_calibration(asked: CalibrationAsked, service: At) -> CalibrationShown:
    """A gauge's calibration from its digital certificate; kept, it counts from the next start."""
    instrument = service.instruments.get(asked.gauge)
    if instrument is None:
        raise UnknownError(
            f"there is no gauge {asked.gauge!r}; there are {', '.join(service.instruments)}"
        )
    certificate = read(asked.dcc)
    against = _against(certificate, instrument.serial, asked.due)
    limit = certificate.error_limit_mm
    if asked.keep:
        if against:
            raise RefusedError("; ".join(against))
        if asked.person is None or asked.due is None:
            raise RefusedError("'person' and 'due' are needed to keep a calibration")
        keep(
            service.data,
            Accepted(
                gauge=instrument.name,
                serial=instrument.serial,
                person=asked.person,
                accepted_at=wall_time().isoformat(timespec="seconds"),
                due=asked.due,
                error_limit_mm=limit,
                certificate=certificate,
            ),
        )
    return CalibrationShown(
        certificate=certificate,
        error_limit_mm=None if limit is None else format(limit, "f"),
        doubts=[*against, *certificate.doubts],
        kept=asked.keep,
        counts_from="the next start of the service" if asked.keep else "",
    )


def _against(certificate: Certificate, serial: str, due: date | None) -> list[str]:
    """What keeps a certificate from being this gauge's, or from holding."""
    found = []
    if not serial:
        found.append("the gauge has no serial in bench.toml, so nothing says it is this one")
    elif certificate.serial != serial:
        theirs = certificate.serial
        found.append(f"the certificate is for serial {theirs!r}, and the gauge is {serial!r}")
    done = certificate.calibrated_on
    if due is not None and done is not None and due.isoformat() <= done:
        found.append(f"due {due} does not lie after the calibration on {done}")
    return found


def _table(asked: TableAsked) -> list[Row]:
    if (asked.csv is None) == (asked.xlsx is None):
        raise RefusedError("give the table as 'csv' (text) or as 'xlsx' (base64), one of the two")
    if asked.csv is not None:
        return from_csv(asked.csv)
    try:
        content = base64.b64decode(asked.xlsx or "", validate=True)
    except ValueError:  # text that is not even ASCII is one, too
        raise RefusedError("'xlsx' is not base64") from None
    return from_xlsx(content)
