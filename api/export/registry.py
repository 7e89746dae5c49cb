"""The formats a record can be had in."""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from api.export import bundle, csv, csvw, json, labels, parquet, qif, sheet, xlsx
from api.export.given import Given
from daq.head.errors import UnknownError
from daq.head.view import RecordView

STEM_CHARS_MAX = 60
DESCRIPTION = "-metadata.json"


@dataclass(frozen=True, slots=True)
class Writer:
    """A format. suffix: of its file, with the dot. write: the same record gives the same bytes.

    describe: for a table whose columns need saying: given its address, what they mean; it lies
    beside the table under the table's own name with DESCRIPTION behind it.
    """

    media_type: str
    suffix: str
    write: Callable[[RecordView, Given], Iterator[bytes]]
    describe: Callable[[str], bytes] | None = None


WRITERS: Mapping[str, Writer] = {
    "csv": Writer(
        "text/csv; charset=utf-8; header=present", ".csv", csv.write, describe=csvw.describe
    ),
    "json": Writer("application/json", ".json", json.write),
    "xlsx": Writer(
        "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", ".xlsx", xlsx.write
    ),
    "qif": Writer("application/xml", ".qif", qif.write),
    "pdf": Writer("application/pdf", ".pdf", sheet.write),
    "parquet": Writer("application/vnd.apache.parquet", ".parquet", parquet.write),
    "labels": Writer("application/pdf", ".labels.pdf", labels.write),
    "bundle": Writer("application/zip", ".zip", bundle.write),
}


def writer_for(name: str) -> Writer:
    """The writer of that format. Raises UnknownError with the formats there are."""
    if name not in WRITERS:
        raise UnknownError(f"there is no export format {name!r}; there are {', '.join(WRITERS)}")
    return WRITERS[name]


def file_stem(record: RecordView) -> str:
    """What the files of a record are called."""
    return stem_of(record.job.number, record.job.id)


def stem_of(number: str, job: str) -> str:
    """What the files of the job with that id are called: its number, in letters any disk takes."""
    safe = re.sub(r"[^A-Za-z0-9._-]+", "-", number).strip(".-")
    return safe[:STEM_CHARS_MAX] or job
