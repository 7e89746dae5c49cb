"""A record with everything its exports need, fetched before a pure writer gets to work."""

from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import NamedTuple

from api.export import ALONE, DESCRIPTION, Given, Writer
from api.export.given import LengthUnit, Paper, QifCheck
from api.export.telling import Told
from api.files import appear
from api.qif_schema import schema_check
from daq.head.errors import UnknownError
from daq.head.photograph import Photograph
from daq.head.view import RecordView, record_view
from daq.records.photographs import Photographs
from daq.records.records import Records


class Wishes(NamedTuple):
    """What whoever asks for an export may choose. qif_check: what QIF has to pass.
    address: of the page, where labels lead. told: how far a table is."""

    paper: Paper = "a4"
    length: LengthUnit = "mm"
    qif_check: QifCheck | None = None
    address: str = ALONE.address
    told: Told | None = None


class Whole(NamedTuple):
    """A record as it is read, and what its writers are given."""

    view: RecordView
    given: Given


def checks(folder: Path | None) -> QifCheck | None:
    """The check by a user's own schema. Raises ExportError where the folder has none."""
    return None if folder is None else schema_check(folder)


def whole(records: Records, job: str, wishes: Wishes) -> Whole:
    """The record of the job with that id, its traces fetched.

    Raises UnknownError, RecordError (AlteredError for a trace that is not what was kept).
    """
    view = record_view(records.record(job))
    hashes = dict.fromkeys(m.trace_sha256 for m in view.measurements if m.trace_sha256)
    traces = {sha256: packed for sha256 in hashes if (packed := _trace(records, sha256))}
    given = Given(
        trace=traces.get,
        picture=partial(_picture, records.photographs),
        check_qif=wishes.qif_check,
        paper=wishes.paper,
        length=wishes.length,
        address=wishes.address,
        told=wishes.told,
    )
    return Whole(view, given)


def _trace(records: Records, sha256: str) -> bytes | None:
    try:
        return records.trace(sha256)
    except UnknownError:
        return None  # a record collected from another bench comes without


def _picture(files: Photographs, photograph: Photograph) -> bytes | None:
    try:
        return files.read(photograph)
    except UnknownError:
        return None  # not at hand; the record says which file it was


def begun(writer: Writer, found: Whole) -> tuple[bytes, Iterator[bytes]]:
    """The first chunk and the rest: what cannot be written is known before anything is sent."""
    chunks = writer.write(found.view, found.given)
    return next(chunks, b""), chunks


def write_files(writer: Writer, found: Whole, file: Path) -> list[Path]:
    """Write a record under that name, and the description of a table beside it; what was written.

    Each appears whole or not at all. Raises ExportError, OSError.
    """
    files = files_of(writer, file)
    appear(file, writer.write(*found))
    if writer.describe is not None:
        appear(files[1], [writer.describe(file.name)])
    return files


def files_of(writer: Writer, file: Path) -> list[Path]:
    """What is written when a record is written under that name."""
    return [file] if writer.describe is None else [file, file.with_name(file.name + DESCRIPTION)]
