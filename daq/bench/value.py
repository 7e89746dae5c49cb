"""From a captured value to the draft that keeps it: zero, volume, temperature, limits, trace."""

from dataclasses import dataclass

from daq.capture.base import Captured, Kind
from daq.capture.trace import Trace
from daq.head.clearance import budget_shown
from daq.head.instrument import Instrument
from daq.head.keeping import kept_body
from daq.head.leaking import LEAK_STEP, as_leak
from daq.head.likely import off_the_neighbours, off_the_plan
from daq.head.measurement import Came
from daq.head.plan import Target
from daq.head.record import Draft, EntryKind, Record
from daq.head.warmth import at_reference
from daq.head.zeroes import to_its_zero
from daq.metrology.measured import Measured
from drivers.reading import Reading

NO_RING = (
    "No setting ring was read for this gauge in this job: the value is the gauge's own number, "
    "not a diameter that can be compared. Read a ring and take it again."
)


@dataclass(frozen=True, slots=True)
class Brought:
    """A captured value brought to its zero, its volume and 20 °C. unbelieved: why it is not
    complete although the capture was."""

    measured: Measured | None
    reference: str | None = None
    warnings: tuple[str, ...] = ()
    unbelieved: str = ""


def brought(
    record: Record, target: Target, captured: Captured, instrument: Instrument | None
) -> Brought:
    """What `captured` says of the part itself."""
    measured, reference = captured.measured, None
    warnings = captured.warnings
    if measured is None:
        return Brought(None, warnings=warnings)
    if captured.kind is Kind.DECAY:
        measured = as_leak(record.plan.step(target.characteristic), measured)
    if instrument is not None:
        measured, reference = to_its_zero(record, target, instrument, measured)
        if reference is None and captured.kind is Kind.ROCK:
            warnings = (*warnings, NO_RING)
    settled = at_reference(record, target, measured)
    return Brought(settled.measured, reference, (*warnings, *settled.warnings), settled.unbelieved)


def question_about(
    record: Record, target: Target, captured: Captured, instrument: Instrument
) -> str:
    """Why this may be another part, as a question; "" when nothing is odd.

    What the plan does not expect at all is no question: it is kept and not believed.
    """
    found = brought(record, target, captured, instrument)
    if found.measured is None or not captured.complete or not _is_size(captured, found):
        return ""
    return off_the_neighbours(record, target, found.measured.value)


def _is_size(captured: Captured, found: Brought) -> bool:
    """A bore gauge that was in no ring gives a difference, not a size to compare."""
    return captured.kind is not Kind.ROCK or found.reference is not None


def kept_draft(
    record: Record,
    target: Target,
    captured: Captured,
    *,
    instrument: Instrument | None,
    trace: list[Reading],
    doubt: str = "",
    person: str | None = None,
) -> Draft:
    """The draft that keeps `captured` for `target`.

    doubt: why the bench would not have kept it by itself; it was kept by a person's press.
    person: who measured; without it, whoever opened the job.
    """
    found = brought(record, target, captured, instrument)
    warnings = list(found.warnings)
    unlikely = ""
    if found.measured is not None and _is_size(captured, found):
        unlikely = off_the_plan(record, target, found.measured.value)
    if doubt:
        warnings.append(f"Kept by a press although: {doubt}")
    packed = Trace.of(trace) if trace else None
    body = kept_body(
        record,
        target,
        measured=found.measured,
        step_mm=_step(captured, instrument),
        complete=captured.complete and not found.unbelieved,
        at_least=captured.at_least,
        came=Came.CAPTURED,
        instrument=instrument,
        person=person or record.opening.get("person"),
        doubtful=bool(unlikely),
        extra={
            "reason": captured.reason or found.unbelieved or unlikely,
            "warnings": warnings,
            "reference": found.reference,
            "trace_sha256": None if packed is None else packed.sha256,
            "detail": {
                **captured.detail,
                "budget": [] if found.measured is None else budget_shown(found.measured),
            },
        },
    )
    return Draft(record.job, EntryKind.KEPT, body, None if packed is None else packed.pack())


def _step(captured: Captured, instrument: Instrument | None) -> float:
    """The step that the value is written to, in its unit."""
    if captured.kind is Kind.DECAY:
        return LEAK_STEP
    return instrument.resolution_mm if instrument is not None else 1.0
