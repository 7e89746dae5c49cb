"""The bundle: every format of a record in one zip, with its traces, photographs, seal and a word
to whoever gets it. The same record gives the same bytes."""

import hashlib
import json
from collections.abc import Callable, Iterator, Sequence
from importlib.util import find_spec
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile, ZipInfo

from api.export import csv, csvw, parquet, qif, sheet, xlsx
from api.export import json as record_json
from api.export.given import ALONE, Given
from api.export.readme import readme
from api.export.sink import Sink
from daq.head.photograph import Photograph
from daq.head.view import RecordView

SUMS = "SHA256SUMS"
# Zip knows no earlier day; a true time would make the same record give other bytes.
_NO_TIME = (1980, 1, 1, 0, 0, 0)
_PACKED_ALREADY = (".xlsx", ".pdf", ".parquet", ".trace", ".jpg", ".png")

Part = tuple[str, Callable[[], Iterator[bytes]]]


def write(record: RecordView, given: Given = ALONE) -> Iterator[bytes]:
    """The zip, member by member. An altered photograph is known before the first byte leaves."""
    named = {each.file_name: each for each in record.photographs}
    at_hand = [each for each in named.values() if given.picture(each) is not None]
    sink = Sink()
    sums: list[str] = []
    with ZipFile(sink, "w") as zipped:
        for name, chunks in (*_parts(record, given), *_pictures(at_hand, given)):
            info = ZipInfo(name, _NO_TIME)
            info.compress_type = ZIP_STORED if name.endswith(_PACKED_ALREADY) else ZIP_DEFLATED
            info.external_attr = 0o644 << 16
            digest = hashlib.sha256()
            with zipped.open(info, "w") as member:
                for chunk in chunks():
                    member.write(chunk)
                    digest.update(chunk)
                    yield sink.taken()
            sums.append(f"{digest.hexdigest()}  {name}\n")
        zipped.writestr(ZipInfo(SUMS, _NO_TIME), "".join(sums), ZIP_DEFLATED)
    yield sink.taken()


def _parts(record: RecordView, given: Given) -> Iterator[Part]:
    """Names and contents, in the order in which somebody would open them."""
    has_parquet = find_spec("pyarrow") is not None
    yield "README.txt", lambda: _text(readme(record, has_parquet=has_parquet))
    yield "record.pdf", lambda: sheet.write(record, given)
    yield "record.xlsx", lambda: xlsx.write(record, given)
    yield "record.csv", lambda: csv.write(record, given)
    yield "record.csv-metadata.json", lambda: iter((csvw.describe("record.csv"),))
    yield "record.json", lambda: record_json.write(record, given)
    yield "record.schema.json", lambda: iter((record_json.schema(),))
    yield "record.qif", lambda: qif.write(record, given)
    if has_parquet:
        yield "record.parquet", lambda: parquet.write(record, given)
    yield "seal.json", lambda: _text(_seal(record))
    hashes = dict.fromkeys(m.trace_sha256 for m in record.measurements if m.trace_sha256)
    for sha256 in hashes:
        packed = given.trace(sha256)
        if packed is not None:
            yield f"traces/{sha256}.trace", lambda packed=packed: iter((packed,))  # type: ignore[misc]


def _pictures(photographs: Sequence[Photograph], given: Given) -> Iterator[Part]:
    """Read one by one: together they may be larger than the memory."""
    for each in photographs:
        yield f"photographs/{each.file_name}", lambda each=each: iter((given.picture(each) or b"",))  # type: ignore[misc]


def _text(text: str) -> Iterator[bytes]:
    yield text.encode()


def _seal(record: RecordView) -> str:
    """Where the record ends, and what the bench signed under it."""
    head = record.head.model_dump(mode="json")
    return json.dumps({"job": record.job.id, **head}, indent=1, ensure_ascii=False) + "\n"
