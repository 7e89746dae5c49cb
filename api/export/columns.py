"""The columns of the table export: one row a measurement, kept, voided or derived."""

from collections.abc import Callable
from decimal import Decimal
from typing import Literal, NamedTuple

from daq.head.measurement import Measurement
from daq.head.view import JobView

Datatype = Literal["string", "decimal", "boolean", "integer", "dateTime"]
Cell = str | Decimal | bool | int | None


class Row(NamedTuple):
    """What one row of the table is made from."""

    job: JobView
    m: Measurement


class Column(NamedTuple):
    """name: in the header. free: people wrote it, so a spreadsheet might take it for a formula."""

    name: str
    datatype: Datatype
    about: str
    of: Callable[[Row], Cell]
    free: bool = False


def _note(m: Measurement) -> str | None:
    """Why it is void, why it is not complete, what somebody remarked."""
    void = f"void: {m.void_reason}" if m.void_reason else ""
    return "; ".join(part for part in (void, m.reason, m.note or "") if part) or None


COLUMNS = (
    Column("measurement_id", "string", "UUID of the measurement", lambda row: row.m.id),
    Column("job", "string", "number of the job", lambda row: row.job.number, free=True),
    Column("job_id", "string", "id of the job", lambda row: row.job.id),
    Column(
        "position", "string", "place of the valve: cylinder and side", lambda row: row.m.position
    ),
    Column("characteristic", "string", "what was measured", lambda row: row.m.characteristic),
    Column(
        "depth_mm",
        "decimal",
        "where on the part, in mm",
        lambda row: row.m.place.depth_mm if row.m.place else None,
    ),
    Column(
        "direction",
        "string",
        "along or across the head",
        lambda row: row.m.place.direction if row.m.place else None,
    ),
    Column("value", "decimal", "measured value, in 'unit'", lambda row: row.m.value),
    Column("unit", "string", "UCUM code", lambda row: row.m.unit),
    Column("u_k2", "decimal", "expanded uncertainty, k = 2", lambda row: row.m.uncertainty),
    Column(
        "lower",
        "decimal",
        "least allowed value",
        lambda row: row.m.limits.lower if row.m.limits else None,
    ),
    Column(
        "upper",
        "decimal",
        "most allowed value",
        lambda row: row.m.limits.upper if row.m.limits else None,
    ),
    Column(
        "limit_source", "string", "who says the limit", lambda row: row.m.limit_source, free=True
    ),
    Column("spec_version", "string", "the plan that was measured by", lambda row: row.job.plan),
    Column(
        "status",
        "string",
        "PASS proven in, FAIL proven out, INDETERMINATE neither, NOT_ANALYZED no limit, VOID",
        lambda row: row.m.status.value,
    ),
    Column("complete", "boolean", "enough was seen to say", lambda row: row.m.complete),
    Column(
        "came",
        "string",
        "captured, keyed, sent or derived from others",
        lambda row: row.m.came.value,
    ),
    Column("take", "integer", "how often this place was measured by then", lambda row: row.m.take),
    Column("gauge", "string", "name of the gauge", lambda row: row.m.gauge, free=True),
    Column(
        "gauge_serial", "string", "serial of the gauge", lambda row: row.m.gauge_serial, free=True
    ),
    Column(
        "cal_certificate", "string", "its certificate", lambda row: row.m.certificate, free=True
    ),
    Column("operator", "string", "who measured", lambda row: row.m.person, free=True),
    Column("measured_at", "dateTime", "when, RFC 3339 in UTC", lambda row: row.m.measured_at),
    Column("trace_sha256", "string", "hash of the raw trace", lambda row: row.m.trace_sha256),
    Column(
        "note",
        "string",
        "remark, and why it is void or incomplete",
        lambda row: _note(row.m),
        free=True,
    ),
)
