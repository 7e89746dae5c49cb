"""The columns of the table export: one row a measurement, kept, voided or derived, and one a
figure of a part (wear, taper, rate …)."""

from decimal import Decimal
from operator import attrgetter
from typing import Literal, NamedTuple

from daq.head.measurement import Measurement
from daq.head.view import JobView

Datatype = Literal["string", "decimal", "boolean", "integer", "dateTime", "date"]
Cell = str | Decimal | bool | int | None


class Column(NamedTuple):
    """name: in the header. free: people wrote it, so a spreadsheet might take it for a formula."""

    name: str
    datatype: Datatype
    about: str
    free: bool = False


OF_JOB = (
    Column("bench", "string", "the bench that measured", free=True),
    Column("job", "string", "number of the job", free=True),
    Column("job_id", "string", "id of the job"),
    Column("part_serial", "string", "what is stamped on the head", free=True),
    Column("spec_version", "string", "the plan that was measured by"),
    Column("bank", "string", "left or right, where the head is one of two banks"),
)
OF_MEASUREMENT = (
    Column("position", "string", "place of the valve: cylinder and side"),
    Column("characteristic", "string", "what was measured"),
    Column("depth_mm", "decimal", "where on the part, in mm"),
    Column("direction", "string", "along or across the head"),
    Column("length_mm", "decimal", "at which length it was measured, in mm"),
    Column("spot", "string", "line or spot on the part, by its name", free=True),
    Column("value", "decimal", "measured value, in 'unit'"),
    Column("unit", "string", "UCUM code"),
    Column("u_k2", "decimal", "expanded uncertainty, k = 2, in 'unit'"),
    Column("lower", "decimal", "least allowed value, in 'unit'"),
    Column("upper", "decimal", "most allowed value, in 'unit'"),
    Column("limit_source", "string", "who says the limit", free=True),
    Column(
        "status",
        "string",
        "PASS proven in, FAIL proven out, INDETERMINATE neither, NOT_ANALYZED no limit, VOID",
    ),
    Column("complete", "boolean", "enough was seen to say"),
    Column(
        "superseded",
        "boolean",
        "it decides nothing any more: worked on since, or to be measured again",
    ),
    Column("came", "string", "captured, keyed, sent or derived from others"),
    Column("take", "integer", "how often this place was measured by then"),
    Column("gauge", "string", "name of the gauge", free=True),
    Column("gauge_serial", "string", "serial of the gauge", free=True),
    Column("cal_certificate", "string", "its certificate", free=True),
    Column("cal_due", "date", "calibrated until, as it stood when it measured"),
    Column("operator", "string", "who measured", free=True),
    Column("measured_at", "dateTime", "when, RFC 3339 in UTC"),
    Column("trace_sha256", "string", "hash of the raw trace"),
    Column("note", "string", "remark, and why it is void or incomplete", free=True),
)
COLUMNS = (
    Column("measurement_id", "string", "UUID of the measurement, or of the figure of a part"),
    *OF_JOB,
    *OF_MEASUREMENT,
)


def cells(job: JobView, m: Measurement) -> tuple[Cell, ...]:
    """One row, in the order of COLUMNS."""
    return (m.id, *job_cells(job), *measurement_cells(m))


def job_cells(job: JobView) -> tuple[Cell, ...]:
    """What is the same in every row of a job."""
    return (job.bench, job.number, job.id, job.head_serial, job.plan, job.bank)


_OF = attrgetter(
    "position", "characteristic", "place", "value", "unit", "uncertainty", "limits",
    "limit_source", "status", "complete", "superseded", "came", "take", "gauge", "gauge_serial",
    "certificate", "calibration_due", "person", "measured_at", "trace_sha256", "void_reason",
    "reason", "note",
)  # fmt: skip


def measurement_cells(m: Measurement) -> tuple[Cell, ...]:
    """The rest of its row. Written out flat: a million rows go through here."""
    position, characteristic, place, value, unit, uncertainty, limits, *rest = _OF(m)
    *rest, void_reason, reason, note = rest
    if place is None:
        where: tuple[Cell, ...] = _NOWHERE
    else:
        where = (place.depth_mm, place.direction, place.length_mm, place.spot)
    lower, upper = (None, None) if limits is None else (limits.lower, limits.upper)
    # Most values need no word; asked here, they do not cost a call.
    said = None if void_reason is None and not reason and not note else note_of(m)
    return (position, characteristic, *where, value, unit, uncertainty, lower, upper, *rest, said)


_NOWHERE = (None, None, None, None)


def note_of(m: Measurement) -> str | None:
    """Why it is void, why it is not complete, what somebody remarked."""
    void = f"void: {m.void_reason}" if m.void_reason is not None else ""
    return "; ".join(part for part in (void, m.reason, m.note or "") if part) or None
