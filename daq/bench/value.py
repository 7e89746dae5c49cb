"""From a captured value to the draft that keeps it: ring, budget, limits, trace."""

from dataclasses import replace

from daq.capture.base import Captured, Kind
from daq.capture.trace import Trace
from daq.head.clearance import budget_shown
from daq.head.instrument import Instrument
from daq.head.keeping import kept_body
from daq.head.measurement import Came
from daq.head.plan import Target
from daq.head.record import Draft, Entry, EntryKind, Record
from daq.metrology.bore import from_ring_mm
from daq.metrology.measured import Contribution, Evaluation, Measured
from daq.metrology.temperature import EXPANSIONS, Warmth, at_20
from drivers.reading import Reading

# A calibrated setting ring of workshop grade, U = 1 µm, k = 2 (common practice, no source).
RING_U_MM = 0.0005
# A contact thermometer on a part that has not quite settled (common practice, no source).
TEMPERATURE_U_K = 0.5
NO_RING = (
    "No setting ring was read for this gauge in this job: the value is the gauge's own number, "
    "not a diameter that can be compared. Read a ring and take it again."
)


def kept_draft(
    record: Record,
    target: Target,
    captured: Captured,
    *,
    instrument: Instrument | None,
    trace: list[Reading],
    doubt: str = "",
) -> Draft:
    """The draft that keeps `captured` for `target`.

    doubt: why the bench would not have kept it by itself; it was kept by a person's press.
    """
    measured, reference, warnings = captured.measured, None, list(captured.warnings)
    if measured is not None and captured.kind is Kind.ROCK and instrument is not None:
        measured, reference = _against_ring(record, instrument, measured)
        if reference is None:
            warnings.append(NO_RING)
    noted = record.of_kind(EntryKind.TEMPERATURE)
    if measured is not None and noted:
        measured = _at_20(record, target, measured, noted[-1])
    if doubt:
        warnings.append(f"Kept by a press although: {doubt}")
    packed = Trace.of(trace) if trace else None
    body = kept_body(
        record,
        target,
        measured=measured,
        step_mm=instrument.resolution_mm if instrument is not None else 1.0,
        complete=captured.complete,
        lower_bound=captured.kind is Kind.TURN,
        came=Came.CAPTURED,
        instrument=instrument,
        person=record.opening.get("person"),
        extra={
            "reason": captured.reason,
            "warnings": warnings,
            "reference": reference,
            "trace_sha256": None if packed is None else packed.sha256,
            "detail": {
                **captured.detail,
                "budget": [] if measured is None else budget_shown(measured),
            },
        },
    )
    return Draft(record.job, EntryKind.KEPT, body, None if packed is None else packed.pack())


def _at_20(record: Record, target: Target, measured: Measured, noted: Entry) -> Measured:
    """The size at 20 °C, for a part whose material the plan names; else as it was."""
    step = record.plan.step(target.characteristic)
    if step is None or step.material is None:
        return measured
    part = Warmth(float(noted.body["part_c"]), TEMPERATURE_U_K, EXPANSIONS[step.material])
    gauge = Warmth(float(noted.body["gauge_c"]), TEMPERATURE_U_K, EXPANSIONS["gauge steel"])
    return at_20(measured, part, gauge)


def _against_ring(
    record: Record, instrument: Instrument, measured: Measured
) -> tuple[Measured, str | None]:
    """The bore: ring size + (reading in the bore − reading in the ring)."""
    for entry in reversed(record.of_kind(EntryKind.ZEROED)):
        if entry.body["gauge"] != instrument.name:
            continue
        size_mm, shown_mm = float(entry.body["size_mm"]), float(entry.body["shown_mm"])
        budget = (
            *measured.budget,
            Contribution("setting ring", RING_U_MM, Evaluation.TYPE_B, "U = 1 µm (k = 2) assumed"),
            Contribution(
                "reading in the ring",
                instrument.resolution_mm / 12**0.5,
                Evaluation.TYPE_B,
                "one step, rectangular",
            ),
        )
        value = from_ring_mm(size_mm, shown_mm, measured.value)
        return replace(measured, value=value, budget=budget), str(entry.body["ring"])
    return measured, None
