"""The sheet: one page for the customer, then what the next machinist needs; PDF/A-3b by typst.

The QIF document of the same record is attached. The layout is in `sheet.typ`; this side hands it
finished strings, and nothing of a record is ever read as markup. The same record gives the same
bytes; where a name needs a font of the system, the same bytes on the same machine.
"""

import json
from collections.abc import Iterator
from datetime import datetime
from importlib import resources
from typing import Literal

from api.export import qif
from api.export.given import ALONE, ExportError, Given
from api.export.sheet.content import content
from api.export.sheet.letters import attempts
from api.export.units import in_length_unit
from daq.head.view import RecordView

CHUNK_BYTES = 64 * 1024
STANDARD: Literal["a-3b"] = "a-3b"
TEMPLATE = "sheet.typ"


def write(record: RecordView, given: Given = ALONE) -> Iterator[bytes]:
    """The PDF. Raises ExportError when its QIF may not leave."""
    attached = b"".join(qif.write(record, given)).decode()
    shown = in_length_unit(record, given.length)
    yield from compiled(TEMPLATE, content(shown, given), record, attached)


def compiled(
    template: str, said: dict[str, object], record: RecordView, attached: str
) -> Iterator[bytes]:
    """The pages that `template` makes of `said`."""
    import typst

    source = (resources.files("api.export.sheet") / template).read_bytes()
    at = datetime.fromisoformat(record.job.signed_at or record.job.opened_at)
    why = ""
    for data, fonts in attempts(said):
        inputs = {"data": json.dumps(data, ensure_ascii=False), "attached": attached}
        compiler = typst.Compiler(source, font_paths=fonts, sys_inputs=inputs)
        try:
            pages = compiler.compile(
                format="pdf", pdf_standards=[STANDARD], timestamp=int(at.timestamp())
            )
        except typst.TypstError as error:
            why = error.message
            continue
        yield from _in_chunks(pages if isinstance(pages, bytes) else b"".join(pages or []))
        return
    raise ExportError(f"The sheet of job {record.job.number} cannot be printed: {why}.")


def _in_chunks(whole: bytes) -> Iterator[bytes]:
    for start in range(0, len(whole), CHUNK_BYTES):
        yield whole[start : start + CHUNK_BYTES]
