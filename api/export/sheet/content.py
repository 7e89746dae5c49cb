"""What stands on the sheet, as finished strings; the template only lays it out."""

from typing import Any

from api.export.given import Given
from api.export.sheet.customer import customer
from api.export.sheet.machinist import machinist
from daq.head.view import RecordView


def content(record: RecordView, given: Given) -> dict[str, Any]:
    """Everything the template needs."""
    job = record.job
    return {
        "paper": given.paper,
        "inch": given.length == "in",
        "number": job.number,
        "bench": job.bench or "",
        "hash": record.head.hash,
        "entries": str(record.head.entries),
        "sealed": "" if record.head.signature is None else record.head.key or "sealed",
        "customer": customer(record),
        "machinist": machinist(record, given),
    }
