"""The shapes of answers that no other part of the program owns."""

from typing import Any

from pydantic import BaseModel

from daq.head.plan import Place, Plan
from daq.head.record import Entry, EntryKind
from daq.head.view import JobView


class EntryShown(BaseModel):
    """One line of a record."""

    job: str
    number: int
    id: str
    at: str
    kind: EntryKind
    body: dict[str, Any]
    hash: str


class Written(BaseModel):
    """What a command wrote."""

    entries: list[EntryShown]


class JobRead(JobView):
    """A job. remaining: how many values the plan still asks for."""

    remaining: int


class TargetListed(BaseModel):
    """Something to measure: what can be put up. place: where on the part."""

    characteristic: str
    position: str
    place: Place | None


class Remaining(BaseModel):
    """What is still to be measured."""

    targets: list[TargetListed]


class JobListed(BaseModel):
    """A job in a list. signed_at: null while it is open. entries, hash: the end of its chain."""

    id: str
    number: str
    plan: str
    customer: str | None
    opened_at: str
    signed_at: str | None
    entries: int
    hash: str


class Jobs(BaseModel):
    """Jobs, newest first. next: what to ask for older ones with, as `before`; null without any."""

    jobs: list[JobListed]
    next: int | None = None


class Plans(BaseModel):
    """Plans, by name. A plan that was added stands in for a shipped one of its name."""

    plans: list[Plan]


class GaugeShown(BaseModel):
    """One gauge. trouble: what is wrong; note: what is worth knowing and not wrong. value: its last
    number in `unit`, null where it gave none. said: `ok`, or what the gauge says in place of a
    number: `over-range`, `low-battery`, `error`. readings: how many came; rejected: messages that
    were not understood, and not_understood the last of them; lost: times bytes were lost.
    takes_zero: whether a ring or a block is read with it."""

    name: str
    serial: str
    port: str
    profile: str
    state: str
    trouble: str
    note: str
    measures: list[str]
    takes_zero: bool
    resolution_mm: str
    value: str | None
    unit: str | None
    said: str | None
    readings: int
    rejected: int
    not_understood: str = ""
    reconnects: int
    lost: int


class RingShown(BaseModel):
    """A setting ring or gauge block that a zero can be taken on."""

    name: str
    size_mm: str
    certificate: str


class ToolListed(BaseModel):
    """A tool without a wire, or a kind of tool: what a keyed value can be said to come from.

    kind: of a tool of this bench; null for a kind itself. usual_for: taken when none is named.
    """

    name: str
    kind: str | None
    unit: str
    step: str
    usual_for: list[str]


class Gauges(BaseModel):
    """Every gauge of the bench, what their zeros are taken on, and the tools without a wire."""

    gauges: list[GaugeShown]
    rings: list[RingShown]
    tools: list[ToolListed] = []


class Health(BaseModel):
    """Whether the bench can do its job. status: ok, or trouble with sentences that say which."""

    status: str
    bench: str
    version: str
    running: bool
    journal: str
    troubles: list[str]
    gauges: dict[str, int]
    up: str
    job: str | None


class Events(BaseModel):
    """CloudEvents behind a cursor, and the cursor to ask with next."""

    events: list[dict[str, Any]]
    next: str


def shown(entry: Entry) -> EntryShown:
    """An entry as it is shown."""
    return EntryShown(
        job=entry.job,
        number=entry.number,
        id=entry.id,
        at=entry.at,
        kind=entry.kind,
        body=dict(entry.body),
        hash=entry.hash,
    )


def written(entries: tuple[Entry, ...]) -> Written:
    """The answer of a command."""
    return Written(entries=[shown(entry) for entry in entries])
