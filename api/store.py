"""Commands on a store: exporting a job from a data folder."""

from pathlib import Path
from typing import BinaryIO

from api.config import load_config
from api.export import DESCRIPTION, Given, writer_for
from daq.head.view import record_view
from daq.records.records import Records


class StoreError(Exception):
    """For whoever gave the command: what cannot be used."""


def folder_of(config: Path | None, data: Path | None) -> Path:
    """The data folder that is meant. Raises StoreError, ConfigError."""
    if (config is None) == (data is None):
        raise StoreError("say which records: either --config bench.toml or --data DIR.")
    return data if data is not None else load_config(config or Path()).data


def export_job(
    folder: Path, job: str, format_: str, out: Path | None, stdout: BinaryIO
) -> list[Path]:
    """Write the record of a job as a file, or to `stdout`; gives the files that were written.

    A table gets its description beside it. Raises RecordError, RefusedError, StoreError.
    """
    writer = writer_for(format_)
    with Records.open_to_read(folder) as records:
        record = records.record(records.find(job))
        view = record_view(record)
        given = Given()
    if out is None:
        stdout.writelines(writer.write(view, given))
        stdout.flush()
        return []
    files = [out]
    try:
        with out.open("wb") as file:
            file.writelines(writer.write(view, given))
        if writer.describe is not None:
            files.append(out.with_name(out.name + DESCRIPTION))
            files[-1].write_bytes(writer.describe(out.name))
    except OSError as error:
        raise StoreError(f"{files[-1]} cannot be written: {error.strerror}.") from None
    return files
