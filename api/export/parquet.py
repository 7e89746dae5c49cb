"""Parquet: the table with true types and the raw traces beside each value, for analysis.

Needs pyarrow, which comes with the extra `parquet`. Decimals keep their value, times are UTC.
"""

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from typing import Any

from api.export.columns import COLUMNS, Cell, Datatype, cells
from api.export.figures import with_figures
from api.export.given import ALONE, ExportError, Given
from api.export.sink import Sink
from daq.capture.trace import Trace, TraceError
from daq.head.measurement import Measurement
from daq.head.view import RecordView

# One row group in memory at a time, traces and all.
ROWS_A_GROUP = 256
# Enough for every number a record can hold: nine digits before the point, and more behind it.
DIGITS, DIGITS_BEHIND = 28, 12
MISSING = "Parquet needs pyarrow, which is not installed here: install benchtally[parquet]."


def write(record: RecordView, given: Given = ALONE) -> Iterator[bytes]:
    """The file, row group by row group. Raises ExportError where pyarrow is missing."""
    try:
        import pyarrow as pa  # type: ignore[import-untyped]
        from pyarrow import parquet
    except ImportError:
        raise ExportError(MISSING) from None
    record = with_figures(record)
    schema = _schema(pa, record)
    sink = Sink()
    with parquet.ParquetWriter(sink, schema, compression="zstd") as writer:
        for start in range(0, len(record.measurements), ROWS_A_GROUP):
            group = record.measurements[start : start + ROWS_A_GROUP]
            writer.write_table(_table(pa, schema, record, group, given))
            if given.told is not None:
                given.told(start + len(group), len(record.measurements))
            yield sink.taken()
    yield sink.taken()


def _schema(pa: Any, record: RecordView) -> Any:
    kinds: dict[Datatype, Any] = {
        "string": pa.string(),
        "decimal": pa.decimal128(DIGITS, DIGITS_BEHIND),
        "boolean": pa.bool_(),
        "integer": pa.int64(),
        "dateTime": pa.timestamp("ms", "UTC"),
        "date": pa.date32(),
    }
    fields = [
        pa.field(column.name, kinds[column.datatype], metadata={"about": column.about})
        for column in COLUMNS
    ]
    fields += [
        pa.field("trace_unit", pa.string(), metadata={"about": "unit of trace_value"}),
        pa.field("trace_t_s", pa.list_(pa.float64()), metadata={"about": "time of each reading"}),
        pa.field(
            "trace_value",
            pa.list_(pa.float64()),
            metadata={"about": "each reading; null where the gauge gave no number"},
        ),
        pa.field(
            "trace_mark", pa.list_(pa.bool_()), metadata={"about": "a once-per-turn mark passed"}
        ),
    ]
    return pa.schema(fields, metadata={"job": record.job.id, "hash": record.head.hash})


def _table(
    pa: Any, schema: Any, record: RecordView, group: Sequence[Measurement], given: Given
) -> Any:
    rows = [cells(record.job, m) for m in group]
    columns = {
        column.name: [_typed(column.datatype, row[place]) for row in rows]
        for place, column in enumerate(COLUMNS)
    }
    traces = [_trace(m, given) for m in group]
    columns["trace_unit"] = [None if trace is None else trace.unit.value for trace in traces]
    readings = [None if trace is None else trace.readings() for trace in traces]
    columns["trace_t_s"] = [None if each is None else [r.t_s for r in each] for each in readings]
    columns["trace_value"] = [
        None if each is None else [r.value if r.value == r.value else None for r in each]
        for each in readings
    ]
    columns["trace_mark"] = [None if each is None else [r.mark for r in each] for each in readings]
    return pa.table(columns, schema=schema)


def _trace(m: Measurement, given: Given) -> Trace | None:
    packed = None if m.trace_sha256 is None else given.trace(m.trace_sha256)
    try:
        return None if packed is None else Trace.unpack(packed)
    except TraceError as error:
        raise ExportError(f"The trace of measurement {m.id} cannot be read: {error}") from None


def _typed(datatype: Datatype, cell: Cell) -> Any:
    if cell is None:
        return None
    if datatype == "dateTime":
        return datetime.fromisoformat(str(cell))
    if datatype == "date":
        return date.fromisoformat(str(cell))
    return cell
