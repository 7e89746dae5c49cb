"""One writer a format: a whole record in, chunks of bytes out. Pure, no SQL, no clock."""

from api.export.registry import DESCRIPTION, WRITERS, Writer, file_stem, writer_for

__all__ = ["DESCRIPTION", "WRITERS", "Writer", "file_stem", "writer_for"]
