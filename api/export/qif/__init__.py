"""QIF 3.0 results (ISO 23952): the record as a document that inspection software reads.

Ids are given out in a fixed order, so the same record gives the same bytes. Before it leaves, a
document is checked against what the schema cannot see (`checks`), and against the schema itself
where one is at hand.
"""

from collections.abc import Iterator

from api.export.given import ALONE, ExportError, Given
from api.export.qif.checks import faults_of
from api.export.qif.document import document
from daq.head.view import RecordView

CHUNK_BYTES = 64 * 1024
FAULTS_SHOWN = 3


def write(record: RecordView, given: Given = ALONE) -> Iterator[bytes]:
    """The document. Raises ExportError rather than let a wrong one out."""
    from lxml import etree

    root = document(record)
    faults = faults_of(root)
    whole = etree.tostring(root, xml_declaration=True, encoding="UTF-8", pretty_print=True)
    if not faults and given.check_qif is not None:
        faults = list(given.check_qif(whole))
    if faults:
        raise ExportError(
            "The QIF document of this record would be wrong and was not written: "
            + "; ".join(faults[:FAULTS_SHOWN])
        )
    for start in range(0, len(whole), CHUNK_BYTES):
        yield whole[start : start + CHUNK_BYTES]
