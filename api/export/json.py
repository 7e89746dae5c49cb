"""JSON: the record as it is read over HTTP; `schema` gives the JSON Schema that it keeps to."""

import json
from collections.abc import Iterator, Sequence

from pydantic import BaseModel

from api.export.given import ALONE, Given
from daq.head.view import RecordView

SCHEMA_ID = "urn:x-benchtally:record:v1"
DIALECT = "https://json-schema.org/draft/2020-12/schema"
SCHEMA_MEDIA_TYPE = "application/schema+json"
# About 100 kB: one by one, handing on would cost more than writing.
ITEMS_A_CHUNK = 128


def write(record: RecordView, given: Given = ALONE) -> Iterator[bytes]:
    """UTF-8; decimals are strings, times are RFC 3339 in UTC; some measurements a chunk."""
    del given
    head = record.model_dump_json(indent=1, exclude={"measurements", "entries"})
    yield head.removesuffix("\n}").encode()
    yield from _list("measurements", record.measurements)
    yield from _list("entries", record.entries)
    yield b"\n}\n"


def _list(name: str, items: Sequence[BaseModel]) -> Iterator[bytes]:
    yield f',\n "{name}": ['.encode()
    for start in range(0, len(items), ITEMS_A_CHUNK):
        lines = (item.model_dump_json() for item in items[start : start + ITEMS_A_CHUNK])
        yield ("," * (start > 0) + "\n  " + ",\n  ".join(lines)).encode()
    yield b"\n ]"


def schema() -> bytes:
    """JSON Schema 2020-12, made from the models that write the document."""
    made = RecordView.model_json_schema(mode="serialization")
    whole = {"$schema": DIALECT, "$id": SCHEMA_ID, **made}
    return json.dumps(whole, indent=1, ensure_ascii=False, sort_keys=True).encode() + b"\n"
