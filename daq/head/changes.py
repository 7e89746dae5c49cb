"""What people and software ask of a job; each becomes a draft for its record, or is refused.

These need the record only. What also needs the bench (put up, take again, skip) is in
`daq.bench`. Nothing here overwrites: a correction voids with a reason.
"""

from dataclasses import dataclass

from daq.head.errors import ConflictError, UnknownError
from daq.head.keeping import check_position
from daq.head.plan import Plan
from daq.head.record import Draft, EntryKind, Record

# Which characteristics stop being true when a part is worked on (trade order: guide work spoils
# the seat it centres; TM 10-3930-621-34 p. 3-8, trade order of doing).
_INVALIDATED: dict[str, tuple[str, ...]] = {
    "valve": ("valve.look", "valve.stem_runout", "valve.stem_diameter", "valve.recess"),
    "guide": ("guide.diameter", "valve.recess"),
    "seat": ("valve.recess",),
}


@dataclass(frozen=True, slots=True)
class Opening:
    """A job to be opened. cylinder_one: which end is cylinder 1, as the person said it.

    bench: which bench measures it. head_serial: what is stamped on the head.
    """

    number: str
    plan: Plan
    customer: str | None = None
    complaint: str | None = None
    cylinder_one: str | None = None
    person: str | None = None
    bench: str | None = None
    head_serial: str | None = None

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


def reworked(record: Record, position: str, part: str, what: str, person: str | None) -> Draft:
    """The draft that says a part was worked on, and which measurements that makes untrue."""
    check_position(record.plan, position)
    if part not in _INVALIDATED:
        raise UnknownError(f"part {part!r} is not one of {', '.join(_INVALIDATED)}")
    return Draft(
        record.job,
        EntryKind.REWORKED,
        {
            "position": position,
            "part": part,
            "what": what,
            "person": person,
            "invalidates": list(_INVALIDATED[part]),
        },
    )
