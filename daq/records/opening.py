"""Which database a data folder goes with: its own SQLite file, or a PostgreSQL server by URL."""

from pathlib import Path

from daq.records.base import Access, Database
from daq.records.database import FILE_NAME, SqliteFile
from daq.records.errors import RecordError


def database_of(folder: Path, url: str | None, access: Access) -> Database:
    """The database of that folder. url: `postgresql://…`; None for the file in the folder.

    Raises RecordError: no such file to read, a URL of another form.
    """
    if url is not None:
        # Its driver is loaded for those who use it.
        from daq.records.server import PostgresServer

        return PostgresServer(url, access)
    file = folder / FILE_NAME
    if access is not Access.WRITE and not file.is_file():
        raise RecordError(
            f"There are no records in {folder}: it holds no {FILE_NAME}. Give the folder that "
            "stands under 'data' in the bench's configuration."
        )
    return SqliteFile(file, access)
