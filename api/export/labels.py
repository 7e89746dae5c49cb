"""Labels for parts: a PDF of stickers, each with a code that leads back to its job and place.

The code is a QR code (ISO/IEC 18004) of the page's address with job, position and part behind it,
so any scanner or telephone reads it, and the words beside it say the same to a person.
"""

from collections.abc import Iterator
from urllib.parse import urlencode

from api.export.given import ALONE, ExportError, Given
from api.export.sheet import compiled
from api.export.sheet.said import where
from daq.head.decide import Decision
from daq.head.view import RecordView

TEMPLATE = "labels.typ"
PAGE = "job.html"
# Q: a quarter of the code may be oil.
CORRECTION = "q"


def write(record: RecordView, given: Given = ALONE) -> Iterator[bytes]:
    """One label for every part the plan speaks of, in the order of the positions."""
    said: dict[str, object] = {
        "paper": given.paper,
        "number": record.job.number,
        "labels": [_label(record, decision, given) for decision in record.decisions],
    }
    yield from compiled(TEMPLATE, said, record, "")


def _label(record: RecordView, decision: Decision, given: Given) -> dict[str, str]:
    job = record.job
    return {
        "where": where(decision.position, decision.part),
        "job": job.number,
        "head": " ".join(part for part in (job.head_named, job.head_serial) if part),
        "customer": job.customer or "",
        "date": job.opened_at[:10],
        "code": code(address_of(record, decision, given)),
    }


def address_of(record: RecordView, decision: Decision, given: Given) -> str:
    """Where a scanned label leads."""
    query = {"job": record.job.id, "position": decision.position, "part": decision.part}
    return f"{given.address}{PAGE}?{urlencode(query)}"


def code(text: str) -> str:
    """The QR code of `text` as SVG."""
    try:
        import segno
    except ImportError:
        raise ExportError("Labels need segno, which is not installed here.") from None
    made = segno.make_qr(text, error=CORRECTION)
    return str(made.svg_inline(border=4, scale=1, omitsize=True))
