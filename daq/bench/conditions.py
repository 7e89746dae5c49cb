"""What is noted of the conditions of measuring: temperatures, and zeros on rings and blocks."""

from decimal import Decimal
from typing import TYPE_CHECKING

from daq.bench.asked import Temperature, Zero
from daq.head.errors import ConflictError, QuestionError, RefusedError, UnknownError
from daq.head.instrument import Instrument, Ring
from daq.head.record import Draft, EntryKind, Record
from daq.head.warmth import apart
from daq.head.zeroes import ABSOLUTE_MM_MOST, drift_mm, has_drifted, shows_sizes, takes_zero

if TYPE_CHECKING:
    from daq.bench.bench import Bench

# Outside these nothing is measured at all; a slip of unit or sign.
TEMPERATURE_C_MIN, TEMPERATURE_C_MAX = -20, 120
# Nobody measures a colder or a warmer part on purpose (common practice, no source); what a
# thermometer in °F shows at a bench, 50 to 100, lies above them.
USUAL_C_MIN, USUAL_C_MAX = 5, 45
# A bore gauge is pressed together by more than this where it goes into a ring (bench practice; no
# source for the figure), and a hand that holds it still moves it by less.
PRESSED_MM_LEAST = 0.02


def temperature_draft(record: Record, asked: Temperature) -> Draft:
    """The temperatures of a part and the gauge; a part that is far warmer is flagged at once."""
    for what, value in (("part", asked.part_c), ("gauge", asked.gauge_c), ("ring", asked.ring_c)):
        if value is not None and not TEMPERATURE_C_MIN <= value <= TEMPERATURE_C_MAX:
            raise RefusedError(
                f"the {what} temperature of {value} °C cannot be; give degrees Celsius from "
                f"{TEMPERATURE_C_MIN} to {TEMPERATURE_C_MAX}"
            )
        if value is not None and not USUAL_C_MIN <= value <= USUAL_C_MAX and not asked.confirmed:
            raise QuestionError(_odd_temperature(what, value))
    body = {
        "part_c": str(asked.part_c),
        "gauge_c": str(asked.gauge_c),
        "ring_c": None if asked.ring_c is None else str(asked.ring_c),
        "of": asked.of,
        "person": asked.person,
    }
    warning = apart(record.plan, body)
    return Draft(record.job, EntryKind.TEMPERATURE, {**body, "warning": warning or None})


def _odd_temperature(what: str, value: Decimal) -> str:
    as_fahrenheit = (value * 9 / 5 + 32).quantize(Decimal(1))
    meant = ((value - 32) * 5 / 9).quantize(Decimal("0.1"))
    return (
        f"a {what} at {value} °C ({as_fahrenheit} °F) is not usual at a bench; if {value} was read "
        f"off in °F, it is {meant} °C. Is {value} °C right?"
    )


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
    if not takes_zero(instrument):
        able = ", ".join(each.name for each in bench.instruments.values() if takes_zero(each))
        raise RefusedError(
            f"{instrument.name} is kept for {', '.join(sorted(instrument.measures))}, which no "
            f"ring is read for; a ring is read with {able or 'a gauge for bores or stems'}"
        )
    shown_mm = _shown_mm(bench, instrument, ring, asked)
    moved_mm = drift_mm(record, instrument.name, ring.name, shown_mm - ring.size_mm)
    drifted = moved_mm is not None and has_drifted(moved_mm, instrument.resolution_mm)
    warning = _not_on_it(instrument, ring, shown_mm) or None
    if warning and asked.shown_mm is None:
        raise ConflictError(warning)
    if drifted:
        warning = (
            f"{instrument.name} shows {shown_mm:.4f} mm in {ring.name} ({ring.size_mm:.4f} mm): "
            f"its zero moved by {moved_mm:+.4f} mm since it was last read there, more than it may. "
            "What was measured with it since its last ring is asked for again."
        )
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
            "warning": warning,
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
    if not asked.confirmed and not _may_be_in(bench, instrument, ring, level_mm):
        raise QuestionError(
            f"{instrument.name} shows {level_mm:.4f} mm and was not seen to come down to it, as it "
            f"does when it goes into a ring. Is it in {ring.name}, at its least reading, and not "
            "hanging free?"
        )
    return level_mm


def _may_be_in(bench: "Bench", instrument: Instrument, ring: Ring, level_mm: float) -> bool:
    """Whether a still reading can be that in a ring.

    A gauge is set to zero or to the size in its ring, or it was seen to be pressed together on its
    way in: hanging free it shows the most that it ever does.
    """
    is_set = min(abs(level_mm), abs(level_mm - ring.size_mm)) <= ABSOLUTE_MM_MOST
    if is_set or shows_sizes(instrument):  # what a micrometer shows is held against its block
        return True
    highest_mm = bench.streams[instrument.name].highest
    return highest_mm is not None and highest_mm - level_mm >= PRESSED_MM_LEAST


def _not_on_it(instrument: Instrument, ring: Ring, shown_mm: float) -> str:
    """What is wrong with a micrometer that shows another size than its block; "" for nothing."""
    if not shows_sizes(instrument) or abs(shown_mm - ring.size_mm) <= ABSOLUTE_MM_MOST:
        return ""
    return (
        f"{instrument.name} shows {shown_mm:.4f} mm and {ring.name} is {ring.size_mm:.4f} mm: it "
        "is not on it, and nothing is corrected by that. Close it on it and read it again."
    )
