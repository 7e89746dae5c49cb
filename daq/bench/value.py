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

OWN_SIZE = (
    "No setting ring was read for this gauge in this job: the size is the gauge's own, and nothing "
    "says how far it is off."
)


def no_ring(gauge: str) -> str:
    """Why what a bore gauge shows is no diameter."""
    return (
        f"no setting ring was read for {gauge} in this job, and what it shows alone is no "
        "diameter; read the ring first (kept as it is, it has no value and is asked for again)"
    )


@dataclass(frozen=True, slots=True)
class Brought:
    """A captured value brought to its zero, its volume and 20 °C. unbelieved: why it is not
    complete although the capture was. difference_mm: what a gauge that only compares showed where
    there is nothing to compare it with; there is no value then, so that nothing computes with it.
    """

    measured: Measured | None
    reference: str | None = None
    warnings: tuple[str, ...] = ()
    unbelieved: str = ""
    difference_mm: float | None = None


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
            if not _shows_sizes(record, target, measured.value):
                unbelieved = no_ring(instrument.name)
                return Brought(None, None, warnings, unbelieved, difference_mm=measured.value)
            warnings = (*warnings, OWN_SIZE)
    settled = at_reference(record, target, measured)
    return Brought(settled.measured, reference, (*warnings, *settled.warnings), settled.unbelieved)


def _shows_sizes(record: Record, target: Target, shown_mm: float) -> bool:
    """Whether a bore gauge that was in no ring shows a size all the same, as some do: its number
    lies where the plan expects the bore, and a difference to a ring never does."""
    step = record.plan.step(target.characteristic)
    is_expected = step is not None and step.nominal_mm is not None
    return is_expected and not off_the_plan(record, target, shown_mm)


def question_about(
    record: Record, target: Target, captured: Captured, instrument: Instrument
) -> str:
    """Why this may not be what it is taken for, in words that end in what to do or in a question;
    "" when nothing is odd."""
    found = brought(record, target, captured, instrument)
    if found.difference_mm is not None:
        return found.unbelieved
    if found.measured is None or not captured.complete:
        return ""
    value = found.measured.value
    return off_the_plan(record, target, value) or off_the_neighbours(record, target, value)


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
    if found.measured is not None:
        unlikely = off_the_plan(record, target, found.measured.value)
    if doubt:
        warnings.append(f"Kept by a press although: {doubt}")
    packed = Trace.of(trace) if trace else None
    difference_mm = found.difference_mm
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
                **({} if difference_mm is None else {"difference_mm": difference_mm}),
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
