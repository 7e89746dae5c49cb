"""JSON: the record exactly as it is read over HTTP, one value a line."""

from collections.abc import Iterator

from daq.head.view import RecordView


def write(record: RecordView) -> Iterator[bytes]:
    """UTF-8; decimals are strings, times are RFC 3339 in UTC."""
    yield record.model_dump_json(indent=1).encode()
    yield b"\n"
