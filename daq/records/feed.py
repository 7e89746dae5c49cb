"""Entries as others are told of them: with the names of their job, and a voided value beside the
entry that voids it, so that a receiver that knows nothing else can place each one."""

from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from sqlalchemy import Connection, select

from daq.head.record import Entry, EntryKind
from daq.records.rows import ENTRY_COLUMNS, EntryRow
from daq.records.tables import entries

# The largest whole number of either database; a cursor beyond it lies behind every entry.
_LAST_CURSOR = 2**63 - 1


class JobNames(NamedTuple):
    """What a job is called besides its id. serial: stamped on the head; plan: measured by."""

    number: str
    serial: str | None
    plan: str


class Event(NamedTuple):
    """Something that was written. cursor: its place among all; voided: what it withdraws."""

    cursor: int
    entry: Entry
    job: JobNames
    voided: Entry | None = None


def rows_behind(connection: Connection, after: int, limit: int) -> list[EntryRow]:
    """Entries of all jobs, in the order of writing, behind the cursor `after`."""
    query = (
        select(*ENTRY_COLUMNS)
        .where(entries.c.cursor > min(after, _LAST_CURSOR))
        .order_by(entries.c.cursor)
        .limit(limit)
    )
    return [EntryRow(*row) for row in connection.execute(query)]


def openings(connection: Connection, jobs: Iterable[str]) -> list[EntryRow]:
    """The first entry of each of these jobs."""
    first = (entries.c.number == 1) & entries.c.job.in_(list(jobs))
    return [EntryRow(*row) for row in connection.execute(select(*ENTRY_COLUMNS).where(first))]


def voided_by(connection: Connection, page: Iterable[Entry]) -> list[EntryRow]:
    """The entries that those in `page` void."""
    ids = [
        str(entry.body.get("measurement_id")) for entry in page if entry.kind is EntryKind.VOIDED
    ]
    if not ids:
        return []
    query = select(*ENTRY_COLUMNS).where(entries.c.id.in_(ids))
    return [EntryRow(*row) for row in connection.execute(query)]


def names_in(opening: Mapping[str, Any]) -> JobNames:
    """The names that were given when the job was opened."""
    return JobNames(opening["number"], opening.get("head_serial"), opening["plan"]["name"])
