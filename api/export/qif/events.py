"""Who, when and for whom; and what was noted on the way: voids, rework, broken captures."""

from typing import NamedTuple

from api.export.qif.xml import Element, Ids, put, put_if
from daq.head.measurement import Status
from daq.head.record import EntryKind, canonical_json
from daq.head.view import RecordView


class Event(NamedTuple):
    """One line of what was noted. at: None where the record does not say when."""

    id: str
    text: str
    at: str | None


class Noted(NamedTuple):
    """all: in order. voids: the event that voided a measurement, by its id."""

    all: list[Event]
    voids: dict[str, Event]


def events(record: RecordView, ids: Ids) -> Noted:
    """Everything noted, voids first."""
    when = {
        str(note.body.get("measurement_id")): note.at
        for note in record.notes
        if note.kind is EntryKind.VOIDED
    }
    voids = {
        m.id: Event(ids.next(), f"voided: {m.void_reason}", when.get(m.id))
        for m in record.measurements
        if m.status is Status.VOID
    }
    others = [
        Event(ids.next(), f"{note.kind.value}: {canonical_json(note.body)}", note.at)
        for note in record.notes
        if note.kind is not EntryKind.VOIDED
    ]
    return Noted([*voids.values(), *others], voids)


def traceability(found: Element, record: RecordView, software: str, noted: Noted) -> None:
    """The InspectionTraceability block."""
    job = record.job
    block = put(found, "InspectionTraceability")
    if job.customer and job.customer.strip():
        customer = put(block, "CustomerOrganization")
        put(customer, "Name", job.customer)
        put(customer, "CustomerNumber", "not given")
    put(block, "OrderNumber", job.number)
    put(block, "ReportNumber", f"{job.number} ({record.head.entries} entries)")
    if noted.all:
        holder = put(block, "NotedEvents", n=str(len(noted.all)))
        for number, event in enumerate(noted.all, 1):
            made = put(holder, "NotedEvent", id=event.id)
            put(made, "Description", event.text)
            put(made, "SequenceNumber", str(number))
            put_if(made, "TimeOccurred", event.at)
    put(block, "InspectionStart", job.opened_at)
    put_if(block, "InspectionEnd", job.signed_at)
    items = put(block, "InspectionSoftwareItems")
    put(put(items, "InspectionProgramExecutionSoftware", n="1"), "Id", software)
    if job.person and job.person.strip():
        put(put(block, "InspectionOperator"), "Name", job.person)
