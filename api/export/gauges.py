"""The gauges of a record, each once, as they stood when they measured."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from daq.head.measurement import Measurement
from daq.head.view import RecordView


@dataclass(slots=True)
class GaugeUsed:
    """A gauge with one calibration; renewed in the middle of a job it stands twice.

    due: ISO 8601 day. references: rings and blocks it was zeroed on. values: how many it gave.
    """

    name: str
    serial: str | None
    certificate: str | None
    due: str | None
    references: list[str] = field(default_factory=list)
    values: int = 0


Key = tuple[str, str | None, str | None, str | None]


def key_of(m: Measurement) -> Key | None:
    """Which gauge a measurement came from; None for a derived one or one without."""
    if m.gauge is None:
        return None
    return m.gauge, m.gauge_serial, m.certificate, m.calibration_due


def gauges_of(record: RecordView) -> list[GaugeUsed]:
    """In the order in which they measured first."""
    return list(used_in(record.measurements).values())


def used_in(measurements: Iterable[Measurement]) -> dict[Key, GaugeUsed]:
    """Every gauge of these measurements."""
    found: dict[Key, GaugeUsed] = {}
    for m in measurements:
        key = key_of(m)
        if key is None:
            continue
        gauge = found.setdefault(key, GaugeUsed(*key))
        gauge.values += 1
        if m.reference is not None and m.reference not in gauge.references:
            gauge.references.append(m.reference)
    return found
