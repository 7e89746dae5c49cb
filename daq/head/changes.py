"""What people and software ask of a job; each becomes a draft for its record, or is refused.

These need the record only. What also needs the bench (put up, take again, skip) is in
`daq.bench`. Nothing here overwrites: a correction voids with a reason.
"""

from dataclasses import dataclass

from daq.head.errors import ConflictError, RefusedError
from daq.head.keeping import check_position
from daq.head.layout import HEAD
from daq.head.plan import Plan
from daq.head.record import Draft, EntryKind, Record
from daq.head.rework import work_on


@dataclass(frozen=True, slots=True)
class Opening:
    """A job to be opened. cylinder_one: which end is cylinder 1, as the person said it.

    bench: which bench measures it. head_serial: what is stamped on the head. missing: parts that
    did not come with it.
    """

    number: str
    plan: Plan
    customer: str | None = None
    complaint: str | None = None
    cylinder_one: str | None = None
    person: str | None = None
    bench: str | None = None
    head_serial: str | None = None
    missing: str | None = None

    def draft(self, job: str) -> Draft:
        """The first entry of the job; it carries the whole plan."""
        return Draft(
            job,
            EntryKind.JOB_OPENED,
            {
                "number": self.number,
                "plan": self.plan.model_dump(mode="json", exclude_none=True),
                "customer": self.customer,
                "complaint": self.complaint,
                "cylinder_one": self.cylinder_one,
                "person": self.person,
                "bench": self.bench,
                "head_serial": self.head_serial,
                "missing": self.missing,
            },
        )


def voided(record: Record, measurement_id: str, reason: str, person: str | None) -> Draft:
    """The draft that voids a measurement; it stays in the record with the reason."""
    record.kept(measurement_id)
    if measurement_id in record.voids:
        already = record.voids[measurement_id].body["reason"]
        raise ConflictError(f"measurement {measurement_id} is void already: {already}")
    return Draft(
        record.job,
        EntryKind.VOIDED,
        {"measurement_id": measurement_id, "reason": reason, "person": person},
    )


@dataclass(frozen=True, slots=True)
class Reworked:
    """Work on a part. act: its word, see `head.rework`; None where only `what` says it."""

    position: str
    part: str
    what: str
    act: str | None = None
    person: str | None = None


def reworked(record: Record, asked: Reworked) -> Draft:
    """The draft that says a part was worked on, and which measurements that makes untrue."""
    work = work_on(asked.part, asked.act, asked.what)
    check_position(record.plan, asked.position)
    if (asked.position == HEAD) != (work.part == "head"):
        usual = HEAD if work.part == "head" else record.plan.head.positions[0]
        raise RefusedError(
            f"work on the {work.part} is noted at a position like {usual!r}, not at "
            f"{asked.position!r}"
        )
    return Draft(
        record.job,
        EntryKind.REWORKED,
        {
            "position": asked.position,
            "part": work.part,
            "act": work.act,
            "what": asked.what,
            "person": asked.person,
            "invalidates": list(work.voids),
            "renews": list(work.renews),
        },
    )
