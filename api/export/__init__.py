"""One writer a format: a whole record in, chunks of bytes out. Pure, no SQL, no clock."""

from api.export.given import ALONE, ExportError, Given
from api.export.registry import DESCRIPTION, WRITERS, Writer, file_stem, stem_of, writer_for

__all__ = [
    "ALONE",
    "DESCRIPTION",
    "WRITERS",
    "ExportError",
    "Given",
    "Writer",
    "file_stem",
    "stem_of",
    "writer_for",
]
