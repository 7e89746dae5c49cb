"""Zeros taken on setting rings and gauge blocks: the value brought to them, and their drift.

A gauge is read in a ring before and after; what moved in between has moved under the measurements
between, and they are flagged (bench practice; common practice, no source for the figure).
"""

from collections.abc import Mapping
from dataclasses import replace

from daq.head.characteristic import characteristic
from daq.head.instrument import Instrument
from daq.head.measurement import Measurement, Status
from daq.head.plan import Target
from daq.head.record import Entry, EntryKind, Record
from daq.metrology.bore import from_ring_mm
from daq.metrology.measured import Contribution, Evaluation, Measured

# A calibrated setting ring of workshop grade, U = 1 µm, k = 2 (common practice, no source).
RING_U_MM = 0.0005
# A zero that moved by more than two steps of the gauge, and by more than this, has drifted.
DRIFT_STEPS_MOST = 2.0
DRIFT_MM_MOST = 0.002
# An outside micrometer shows the size of its block; one that is this far off was not on it.
ABSOLUTE_MM_MOST = 0.05
_COMPARED = frozenset({"guide.diameter"})
_ABSOLUTE = frozenset({"valve.stem_diameter"})


def takes_zero(instrument: Instrument) -> bool:
    """Whether a ring or a block is read with this gauge."""
    return any(instrument.may_measure(name) for name in _COMPARED | _ABSOLUTE)


def shows_sizes(instrument: Instrument) -> bool:
    """Whether a gauge is kept for what a micrometer measures and for nothing that is compared."""
    return bool(instrument.measures & _ABSOLUTE) and not instrument.measures & _COMPARED


def zeroes_of(record: Record, gauge: str) -> list[Entry]:
    """What was noted of a gauge in rings and on blocks, in order."""
    return [entry for entry in record.of_kind(EntryKind.ZEROED) if entry.body["gauge"] == gauge]


def to_its_zero(
    record: Record, target: Target, instrument: Instrument, measured: Measured
) -> tuple[Measured, str | None]:
    """The value as ring or block make it, and which one; the bare reading where there is none.

    A bore gauge only compares: ring + (reading in the bore − reading in the ring). A micrometer
    shows sizes; its block takes off what it shows too much.
    """
    if target.characteristic not in _COMPARED | _ABSOLUTE:
        return measured, None
    for entry in reversed(zeroes_of(record, instrument.name)):
        size_mm, shown_mm = float(entry.body["size_mm"]), float(entry.body["shown_mm"])
        if target.characteristic in _ABSOLUTE and abs(shown_mm - size_mm) > ABSOLUTE_MM_MOST:
            continue
        what = "ring" if characteristic(target.characteristic).capture == "rock" else "block"
        budget = (
            *measured.budget,
            Contribution(f"setting {what}", RING_U_MM, Evaluation.TYPE_B, "U = 1 µm (k = 2)"),
            Contribution(
                f"reading on the {what}",
                instrument.resolution_mm / 12**0.5,
                Evaluation.TYPE_B,
                "one step, rectangular",
            ),
        )
        value = from_ring_mm(size_mm, shown_mm, measured.value)
        return replace(measured, value=value, budget=budget), str(entry.body["ring"])
    return measured, None


def drift_mm(record: Record, gauge: str, ring: str, error_mm: float) -> float | None:
    """How far a zero moved since the last one in the same ring; None for the first.

    error_mm: what the gauge shows there now, less the size of the ring.
    """
    for entry in reversed(zeroes_of(record, gauge)):
        if entry.body["ring"] == ring:
            return error_mm - _error_mm(entry.body)
    return None


def has_drifted(moved_mm: float, step_mm: float) -> bool:
    """Whether that is more than a steady gauge moves."""
    return abs(moved_mm) > max(DRIFT_STEPS_MOST * step_mm, DRIFT_MM_MOST) + 1e-9


def unsteady(m: Measurement, why: str | None) -> Measurement:
    """`m` as it stands when the zero under it moved: it proves nothing, and says why."""
    if why is None or m.status is Status.VOID:
        return m
    proved = m.status in {Status.PASS, Status.FAIL}
    return m.model_copy(
        update={
            "complete": False,
            "status": Status.INDETERMINATE if proved else m.status,
            "reason": m.reason or why,
            "warnings": (*m.warnings, why),
        }
    )


def _error_mm(body: Mapping[str, object]) -> float:
    return float(str(body["shown_mm"])) - float(str(body["size_mm"]))
