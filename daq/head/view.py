"""A record as everybody reads it: measurements, decisions and the state of the chain.

Computed once, here, from the entries; the API, the page and every export show this and compute
nothing.
"""

from dataclasses import asdict
from typing import Any

from pydantic import BaseModel, ConfigDict

from daq.head.before_after import ReworkShown, reworks_shown
from daq.head.clearance import clearances
from daq.head.decide import Decision, Verdict, decisions
from daq.head.deciding.open_points import OpenPoint, open_points
from daq.head.history import history_of
from daq.head.kept import measurement_of
from daq.head.layout import Bank
from daq.head.measurement import Measurement, Status
from daq.head.photograph import Photograph, photographs_of
from daq.head.plan import Place, Target
from daq.head.record import Entry, EntryKind, Record
from daq.head.renewal import made_new
from daq.head.shapes import PartShape, shapes
from daq.head.verdict import verdict_of
from daq.head.zeroes import unsteady


class JobView(BaseModel):
    """What a job is: its number, plan and what was said when it was opened.

    bench: which bench measured it. head_serial: what is stamped on the head. missing: parts that
    did not come with it. bank: which of two banks the head is of. signed_reason: why it was signed
    with parts unsure.
    """

    model_config = ConfigDict(frozen=True)

    id: str
    number: str
    plan: str
    plan_title: str
    customer: str | None
    complaint: str | None
    cylinder_one: str | None
    person: str | None
    bench: str | None = None
    head_serial: str | None = None
    missing: str | None = None
    bank: Bank | None = None
    opened_at: str
    signed_at: str | None
    signed_by: str | None
    signed_reason: str | None = None

    @property
    def head_named(self) -> str:
        """The head in words, with its bank where it is one of two."""
        return self.plan_title if self.bank is None else f"{self.plan_title}, {self.bank} bank"


class Capturing(BaseModel):
    """A capture that had begun and not ended when the record was read."""

    model_config = ConfigDict(frozen=True)

    characteristic: str
    position: str
    place: Place | None
    since: str


class Note(BaseModel):
    """Anything else that was written: a broken capture, a skip, rework, a temperature, a zero."""

    model_config = ConfigDict(frozen=True)

    id: str
    at: str
    kind: EntryKind
    body: dict[str, Any]


class LeftOutView(BaseModel):
    """What was left out, by whom, and why. because: missing, scrap, or other."""

    model_config = ConfigDict(frozen=True)

    characteristic: str
    position: str
    place: Place | None
    because: str
    reason: str
    person: str | None


class ChainHead(BaseModel):
    """Where the record ends: how many entries, the hash of the last, and the bench's signature
    under both (Ed25519, base64) with the name of its key; null before it was stored."""

    model_config = ConfigDict(frozen=True)

    entries: int
    hash: str
    key: str | None = None
    signature: str | None = None


class EntryView(BaseModel):
    """One entry exactly as it was written, so that the chain can be checked from this alone."""

    model_config = ConfigDict(frozen=True)

    number: int
    id: str
    at: str
    kind: EntryKind
    body: dict[str, Any]
    previous: str
    hash: str


class RecordView(BaseModel):
    """Everything about a job, ready to be read. verdict: of the head as a whole.

    open_points: what is unsure or not measured, with what would close it. reworks: what was done
    to parts, with the values before and after. left_out: what was skipped and is still asked for
    by nobody. shapes: wear, taper and ovality of the parts, as their readings say together.
    photographs: of the job and its parts; the pictures lie in files of their own.
    """

    model_config = ConfigDict(frozen=True)

    job: JobView
    measurements: tuple[Measurement, ...]
    decisions: tuple[Decision, ...]
    verdict: Verdict = Verdict.NOT_MEASURED
    capturing: Capturing | None
    remaining: int
    open_points: tuple[OpenPoint, ...] = ()
    shapes: tuple[PartShape, ...] = ()
    reworks: tuple[ReworkShown, ...] = ()
    left_out: tuple[LeftOutView, ...] = ()
    photographs: tuple[Photograph, ...] = ()
    notes: tuple[Note, ...]
    head: ChainHead
    entries: tuple[EntryView, ...] = ()


def record_view(record: Record) -> RecordView:
    """The whole record, folded."""
    kept = [
        unsteady(_measurement(record, entry), record.drifted.get(entry.id))
        for entry in record.of_kind(EntryKind.KEPT)
    ]
    counting = {entry.id for entry in record.standing}
    standing = [m for m in kept if m.id in counting]
    derived = [
        clearance
        for position in record.plan.head.positions
        for clearance in clearances(
            record.plan,
            position,
            standing,
            made_new=made_new(record, Target("guide.clearance_max", position, None)),
        )
    ]
    history = history_of(record)
    decided = tuple(decisions(record.plan, (*standing, *derived), history))
    return RecordView(
        job=job_view(record),
        measurements=(*(_as_it_stands(m, counting) for m in kept), *derived),
        decisions=decided,
        verdict=verdict_of(decided),
        capturing=_capturing(record),
        remaining=len(record.remaining),
        open_points=open_points(decided),
        shapes=tuple(shapes(record.plan, standing)),
        reworks=reworks_shown(record),
        left_out=tuple(
            LeftOutView(**target._asdict(), **asdict(said))
            for target, said in history.left_out.items()
        ),
        photographs=tuple(photographs_of(record)),
        notes=tuple(
            Note(id=entry.id, at=entry.at, kind=entry.kind, body=dict(entry.body))
            for entry in record.entries
            if entry.kind not in {EntryKind.JOB_OPENED, EntryKind.KEPT, EntryKind.UP}
        ),
        head=ChainHead(
            entries=len(record.entries),
            hash=record.entries[-1].hash,
            key=None if record.seal is None else record.seal.key,
            signature=None if record.seal is None else record.seal.signature,
        ),
        entries=tuple(_entry_view(entry) for entry in record.entries),
    )


def _entry_view(entry: Entry) -> EntryView:
    return EntryView(
        number=entry.number,
        id=entry.id,
        at=entry.at,
        kind=entry.kind,
        body=dict(entry.body),
        previous=entry.previous,
        hash=entry.hash,
    )


def job_view(record: Record) -> JobView:
    """What the job is, without its measurements."""
    opening = record.opening
    signed = record.of_kind(EntryKind.SIGNED)
    return JobView(
        id=record.job,
        number=opening["number"],
        plan=record.plan.name,
        plan_title=record.plan.title,
        customer=opening.get("customer"),
        complaint=opening.get("complaint"),
        cylinder_one=opening.get("cylinder_one"),
        person=opening.get("person"),
        bench=opening.get("bench"),
        head_serial=opening.get("head_serial"),
        missing=opening.get("missing"),
        bank=record.plan.head.bank,
        opened_at=record.entries[0].at,
        signed_at=signed[-1].at if signed else None,
        signed_by=signed[-1].body["person"] if signed else None,
        signed_reason=signed[-1].body.get("reason") if signed else None,
    )


def _measurement(record: Record, entry: Entry) -> Measurement:
    kept = measurement_of(entry)
    void = record.voids.get(entry.id)
    if void is None:
        return kept
    return kept.model_copy(update={"status": Status.VOID, "void_reason": void.body["reason"]})


def _as_it_stands(m: Measurement, counting: set[str]) -> Measurement:
    """Marked where the part was worked on since: it is history then, and decides nothing."""
    if m.id in counting or m.status is Status.VOID:
        return m
    return m.model_copy(update={"superseded": True})


def _capturing(record: Record) -> Capturing | None:
    up = record.open_capture()
    if up is None:
        return None
    return Capturing(
        characteristic=up.body["characteristic"],
        position=up.body["position"],
        place=up.body.get("place"),
        since=up.at,
    )
