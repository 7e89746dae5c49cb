"""Reading the records of a data folder; what is read is checked before it is handed out."""

import contextlib
import hashlib
import json
from collections.abc import Mapping, Set
from pathlib import Path
from types import TracebackType
from typing import ClassVar, Self

from sqlalchemy import Connection, bindparam, select

from daq.head.errors import ConflictError, UnknownError
from daq.head.photograph import file_name_of
from daq.head.plan import Plan
from daq.head.record import Entry, EntryKind, Record, is_whole
from daq.records.base import Access, Database
from daq.records.chain import Chain, read_chain
from daq.records.errors import AlteredError
from daq.records.feed import Event, JobNames, names_in, openings, rows_behind, voided_by
from daq.records.finding import State, found_jobs
from daq.records.opening import database_of
from daq.records.photographs import Photographs
from daq.records.rows import ENTRY_COLUMNS, EntryRow, JobRow, Receipt, entry_of, job_row
from daq.records.schema import check_up_to_date
from daq.records.tables import entries, jobs, plans, receipts, traces

# Asked for again and again, and short; a bench has a few open at a time.
_JOBS_REMEMBERED = 1000

_JOB = select(jobs).where(jobs.c.id == bindparam("job"))
_ENTRIES_OF_JOB = (
    select(*ENTRY_COLUMNS).where(entries.c.job == bindparam("job")).order_by(entries.c.number)
)
_TRACE = select(traces.c.packed).where(traces.c.sha256 == bindparam("sha256"))


class Records:
    """The records of a bench, to read. A bench may be writing into them meanwhile.

    Every answer is of one moment. Methods raise RecordError (AlteredError where what is stored
    is not what was written). Any thread may ask; one is served at a time.
    """

    ACCESS: ClassVar = Access.READ

    def __init__(self, database: Database, photographs: Photographs) -> None:
        self._database = database
        self.photographs = photographs
        self._names: dict[str, JobNames] = {}

    @classmethod
    def open_to_read(cls, folder: Path, url: str | None = None) -> Self:
        """The records in `folder`, or in the database at `url`; they must be there.

        Raises RecordError.
        """
        records = cls(database_of(folder, url, cls.ACCESS), Photographs(folder))
        try:
            with records._reading() as connection:
                check_up_to_date(connection, records._database.where)
        except BaseException:
            records.close()
            raise
        return records

    def record(self, job: str) -> Record:
        """The whole record of the job with that id. Raises UnknownError, AlteredError."""
        chain = self.chain(job)
        if chain.findings:
            raise AlteredError(
                f"The record of job {job} in {self._database.where} is not as it was written: "
                f"{chain.findings[0].text}. Nothing was changed; keep a copy of the data folder "
                "and restore it from a backup ('benchtally verify' lists everything)."
            )
        return Record(chain.entries, chain.seal)

    def chain(self, job: str) -> Chain:
        """What is stored of a job and what is wrong with it. Raises UnknownError."""
        with self._reading() as connection:
            index = connection.execute(_JOB, {"job": job}).mappings().one_or_none()
            rows = connection.execute(_ENTRIES_OF_JOB, {"job": job}).all()
        if index is None and not rows:
            raise UnknownError(f"there is no job {job!r}")
        stored = [EntryRow(*row) for row in rows]
        return read_chain(job, None if index is None else job_row(index), stored)

    def found(
        self, text: str, state: State | None, *, before: int | None, limit: int
    ) -> list[JobRow]:
        """The jobs that have a word beginning with each word of `text`, newest first.

        before: only those older than the one with that ordinal.
        """
        with self._reading() as connection:
            return found_jobs(connection, text, state, before, limit)

    def jobs(self, *, number: str | None = None, limit: int = 100) -> list[JobRow]:
        """The jobs, or those with that number, newest first."""
        query = select(jobs).order_by(jobs.c.ordinal.desc()).limit(limit)
        if number is not None:
            query = query.where(jobs.c.number == number)
        with self._reading() as connection:
            return [job_row(row) for row in connection.execute(query).mappings()]

    def job_ids(self) -> list[str]:
        """The id of everything that is or was a job, oldest first; for a check of them all."""
        with self._reading() as connection:
            known = connection.execute(select(jobs.c.id).order_by(jobs.c.ordinal)).scalars().all()
            seen = connection.execute(select(entries.c.job).distinct()).scalars().all()
        return [*known, *sorted(set(seen) - set(known))]

    def find(self, job: str) -> str:
        """The id of the job with that number or id. Raises UnknownError, ConflictError."""
        query = select(jobs.c.id).where((jobs.c.id == job) | (jobs.c.number == job))
        with self._reading() as connection:
            found = connection.execute(query.order_by(jobs.c.ordinal)).scalars().all()
        if not found:
            raise UnknownError(f"there is no job with the number or id {job!r}")
        if job in found:
            return job
        if len(found) > 1:
            raise ConflictError(
                f"{len(found)} jobs have the number {job!r}; give the id of the one you mean, "
                f"oldest first: {', '.join(found)}"
            )
        return str(found[0])

    def trace(self, sha256: str) -> bytes:
        """The packed trace with that hash, checked. Raises UnknownError, AlteredError."""
        with self._reading() as connection:
            packed = connection.execute(_TRACE, {"sha256": sha256}).scalar_one_or_none()
        if packed is None:
            raise UnknownError(f"there is no trace with the hash {sha256!r}")
        if not isinstance(packed, bytes) or hashlib.sha256(packed).hexdigest() != sha256:
            raise AlteredError(
                f"The stored trace {sha256} in {self._database.where} was altered: it has "
                "another hash. Keep a copy of the data folder and restore it from a backup."
            )
        return packed

    def photographs_named(self) -> set[str]:
        """The files of all photographs that stand in a record."""
        query = select(entries.c.body).where(entries.c.kind == EntryKind.PHOTOGRAPHED.value)
        with self._reading() as connection:
            bodies = [json.loads(body) for body in connection.execute(query).scalars()]
        return {file_name_of(body["sha256"], body["media_type"]) for body in bodies}

    def events(self, after: int, limit: int) -> list[Event]:
        """What was written in all jobs behind the cursor `after`, in the order of writing."""
        with self._reading() as connection:
            rows = rows_behind(connection, after, limit)
            page = [self._whole(row) for row in rows]
            names = self._names_of(connection, {entry.job for entry in page})
            voided = {row.id: self._whole(row) for row in voided_by(connection, page)}
        return [
            Event(
                row.cursor,
                entry,
                names[entry.job],
                voided.get(entry.body.get("measurement_id", "")),
            )
            for row, entry in zip(rows, page, strict=True)
        ]

    def receipt(self, key: str) -> Receipt | None:
        """What was done under that idempotency key."""
        with self._reading() as connection:
            row = connection.execute(select(receipts).where(receipts.c.key == key)).one_or_none()
        if row is None:
            return None
        written = tuple(json.loads(row.entries))
        return Receipt(row.key, row.body_hash, row.status, row.answer, row.job, written)

    def plans(self) -> list[Plan]:
        """The plans that were added, by name."""
        with self._reading() as connection:
            bodies = connection.execute(select(plans.c.body)).scalars()
            found = [Plan.model_validate_json(body) for body in bodies]
        return sorted(found, key=lambda plan: plan.name)

    def damage(self) -> list[str]:
        """What the database itself finds wrong with its storage; empty for a sound one."""
        try:
            with self._reading() as connection:
                return self._database.damage(connection)
        except AlteredError as error:  # too damaged to be looked through
            return [str(error)]

    def looking(self) -> contextlib.AbstractContextManager[Connection]:
        """A transaction that sees one moment, for checks over all tables."""
        return self._reading()

    def close(self) -> None:
        """Let the file go."""
        self._database.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        where: TracebackType | None,
    ) -> None:
        self.close()

    def _reading(self) -> contextlib.AbstractContextManager[Connection]:
        return self._database.reading()

    def _names_of(self, connection: Connection, jobs: Set[str]) -> Mapping[str, JobNames]:
        if len(self._names) > _JOBS_REMEMBERED:
            self._names = {}
        unknown = jobs - self._names.keys()
        for row in openings(connection, unknown) if unknown else ():
            self._names[row.job] = names_in(self._whole(row).body)
        for job in unknown - self._names.keys():
            raise AlteredError(
                f"The first entry of job {job} in {self._database.where} is missing. "
                "Restore the data folder from a backup."
            )
        return self._names

    def _whole(self, row: EntryRow) -> Entry:
        entry = entry_of(row)
        if not is_whole(entry, previous=entry.previous):
            raise AlteredError(
                f"Entry {entry.number} of job {entry.job} in {self._database.where} was altered: "
                "its hash is of something else. Restore the data folder from a backup."
            )
        return entry
