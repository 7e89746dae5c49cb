"""What is noted of the conditions of measuring: temperatures, and zeros on rings and blocks."""

from typing import TYPE_CHECKING

from daq.bench.asked import Temperature, Zero
from daq.head.errors import ConflictError, RefusedError, UnknownError
from daq.head.instrument import Instrument, Ring
from daq.head.record import Draft, EntryKind, Record
from daq.head.warmth import apart
from daq.head.zeroes import drift_mm, has_drifted

if TYPE_CHECKING:
    from daq.bench.bench import Bench

# Between these a workshop can be measured in; outside them a slip of unit or sign is likely.
TEMPERATURE_C_MIN, TEMPERATURE_C_MAX = -20, 120


def temperature_draft(record: Record, asked: Temperature) -> Draft:
    """The temperatures of a part and the gauge; a part that is far warmer is flagged at once."""
    for what, value in (("part", asked.part_c), ("gauge", asked.gauge_c), ("ring", asked.ring_c)):
        if value is not None and not TEMPERATURE_C_MIN <= value <= TEMPERATURE_C_MAX:
            raise RefusedError(
                f"the {what} temperature of {value} °C cannot be; give degrees Celsius from "
                f"{TEMPERATURE_C_MIN} to {TEMPERATURE_C_MAX}"
            )
    body = {
        "part_c": str(asked.part_c),
        "gauge_c": str(asked.gauge_c),
        "ring_c": None if asked.ring_c is None else str(asked.ring_c),
        "of": asked.of,
        "person": asked.person,
    }
    warning = apart(record.plan, body)
    return Draft(record.job, EntryKind.TEMPERATURE, {**body, "warning": warning or None})


def zero_draft(bench: "Bench", record: Record, asked: Zero) -> Draft:
    """What a gauge shows in a ring or on a block, and how far that moved since the last check."""
    instrument = bench.instruments.get(asked.gauge)
    if instrument is None:
        known = ", ".join(bench.instruments) or "none"
        raise UnknownError(f"there is no gauge {asked.gauge!r} on this bench; there are {known}")
    ring = next((each for each in bench.fixture.rings if each.name == asked.ring), None)
    if ring is None:
        known = ", ".join(each.name for each in bench.fixture.rings) or "none"
        raise UnknownError(f"there is no ring {asked.ring!r} in the config; there are {known}")
    shown_mm = _shown_mm(bench, instrument, ring, asked)
    moved_mm = drift_mm(record, instrument.name, ring.name, shown_mm - ring.size_mm)
    drifted = moved_mm is not None and has_drifted(moved_mm, instrument.resolution_mm)
    return Draft(
        record.job,
        EntryKind.ZEROED,
        {
            "gauge": instrument.name,
            "gauge_serial": instrument.serial,
            "ring": ring.name,
            "certificate": ring.certificate,
            "size_mm": f"{ring.size_mm:.6f}",
            "shown_mm": f"{shown_mm:.6f}",
            "drift_mm": None if moved_mm is None else f"{moved_mm:.4f}",
            "drifted": drifted,
            "person": asked.person,
        },
    )


def _shown_mm(bench: "Bench", instrument: Instrument, ring: Ring, asked: Zero) -> float:
    if asked.shown_mm is not None:
        return float(asked.shown_mm)
    level_mm = bench.streams[instrument.name].level
    if level_mm is None:
        raise ConflictError(
            f"{instrument.name} is not still: hold it in {ring.name} at its least reading and "
            "press again, or give 'shown_mm'"
        )
    return level_mm
