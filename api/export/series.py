"""Which values are drawn together: one figure a characteristic, one series a place and take."""

from dataclasses import dataclass
from decimal import Decimal

from daq.head.characteristic import CATALOGUE
from daq.head.measurement import Measurement, Status
from daq.head.view import RecordView

# What has a shape worth seeing side by side: turned, rocked, and sizes at several places.
_DRAWN = frozenset({"turn", "rock"})


@dataclass(frozen=True, slots=True)
class Series:
    """values: one a position of its figure, None where there is none."""

    name: str
    values: tuple[Decimal | None, ...]
    is_limit: bool = False


@dataclass(frozen=True, slots=True)
class Figure:
    """All values of one characteristic that count, over the positions where there are any."""

    characteristic: str
    unit: str
    positions: tuple[str, ...]
    series: tuple[Series, ...]


def counts(m: Measurement) -> bool:
    """Whether a value stands: not void, not overtaken by rework, and one was seen at all."""
    return m.status is not Status.VOID and not m.superseded and m.value is not None


def figures_of(record: RecordView) -> list[Figure]:
    """In the order in which the characteristics were measured first."""
    found: dict[str, list[Measurement]] = {}
    for m in record.measurements:
        if counts(m) and _is_drawn(m):
            found.setdefault(m.characteristic, []).append(m)
    return [_figure(name, values) for name, values in found.items()]


def _is_drawn(m: Measurement) -> bool:
    about = CATALOGUE.get(m.characteristic)
    if about is None or about.unit == "1":
        return False
    return about.capture in _DRAWN or m.place is not None


def _figure(name: str, values: list[Measurement]) -> Figure:
    positions = tuple(dict.fromkeys(m.position for m in values))
    cells: dict[str, dict[str, Decimal | None]] = {}
    for m in values:
        cells.setdefault(_series_name(m), {})[m.position] = m.value
    series = [
        Series(label, tuple(cells[label].get(position) for position in positions))
        for label in cells
    ]
    ends = {m.position: m.limits for m in values if m.limits is not None}
    lower = tuple(ends[p].lower if p in ends else None for p in positions)
    upper = tuple(ends[p].upper if p in ends else None for p in positions)
    limits = [
        Series(label, limit, is_limit=True)
        for label, limit in (("lower limit", lower), ("upper limit", upper))
        if any(end is not None for end in limit)
    ]
    return Figure(name, values[0].unit, positions, (*series, *limits))


def _series_name(m: Measurement) -> str:
    place = "value" if m.place is None else str(m.place)
    return place if m.take == 1 else f"{place}, take {m.take}"
