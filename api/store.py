"""Commands on a store: exporting a job from a data folder."""

from pathlib import Path
from typing import BinaryIO, NamedTuple

from api.config import load_config
from api.export import writer_for
from api.exporting import Wishes, begun, whole, write_files
from daq.records.records import Records


class StoreError(Exception):
    """For whoever gave the command: what cannot be used."""


class Place(NamedTuple):
    """Where records lie: a data folder, or the database that its config names."""

    folder: Path
    database: str | None
    qif_schema: Path | None

    def opened(self) -> Records:
        """The records. Raises RecordError."""
        return Records.open_to_read(self.folder, self.database)


def place_of(config: Path | None, data: Path | None) -> Place:
    """The records that are meant. Raises StoreError, ConfigError."""
    if config is None and data is not None:
        return Place(data, None, None)
    if config is None or data is not None:
        raise StoreError("say which records: either --config bench.toml or --data DIR.")
    loaded = load_config(config)
    return Place(loaded.data, loaded.database, loaded.qif_schema)


def folder_of(config: Path | None, data: Path | None) -> Path:
    """The data folder that is meant. Raises StoreError, ConfigError."""
    return place_of(config, data).folder


def export_job(
    records: Records, job: str, format_: str, out: Path | None, stdout: BinaryIO, wishes: Wishes
) -> list[Path]:
    """Write the record of a job as a file, or to `stdout`; gives the files that were written.

    A table gets its description beside it. A file appears whole or not at all. Raises
    RecordError, RefusedError, StoreError, ExportError.
    """
    writer = writer_for(format_)
    found = whole(records, records.find(job), wishes)
    if out is None:
        first, rest = begun(writer, found)
        stdout.write(first)
        stdout.writelines(rest)
        stdout.flush()
        return []
    try:
        return write_files(writer, found, out)
    except OSError as error:
        raise StoreError(f"{out} cannot be written: {error.strerror}.") from None
