"""Writing: entries go to the disk in one transaction, and only then is anybody told of them.

What it costs: one fsync of the write-ahead log for each `append`, so as long as the disk takes.
"""

import threading
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from sqlalchemy import delete, insert, select

from daq.head.errors import ConflictError
from daq.head.photograph import file_name_of, photographs_of
from daq.head.plan import Plan
from daq.head.record import Draft, Entry, Record
from daq.records.base import Access, Database
from daq.records.batch import Batch, Ends, ends_of, stamp
from daq.records.bringing import bring_in
from daq.records.counted import sign_what_is_not
from daq.records.database import FILE_NAME, make_folder, sentences
from daq.records.errors import RecordError
from daq.records.lock import FolderLock
from daq.records.opening import database_of
from daq.records.photographs import Photographs
from daq.records.records import Records
from daq.records.rows import Receipt, job_row, plan_seal
from daq.records.schema import bring_up_to_date
from daq.records.signing import Signer
from daq.records.tables import entries, jobs, plans
from daq.records.tombstones import Tombstone, last_removed, remove


class _Doubt(NamedTuple):
    """A write whose answer was lost on the way."""

    drafts: tuple[Draft, ...]
    written: tuple[Entry, ...]


class Journal(Records):
    """The records of a data folder, to write. One process a folder; its methods never overlap.

    now: the time, aware; new_id: an id never given before. Both are asked once an entry.
    """

    def __init__(
        self,
        database: Database,
        photographs: Photographs,
        lock: FolderLock,
        signer: Signer,
        *,
        now: Callable[[], datetime],
        new_id: Callable[[], str],
    ) -> None:
        super().__init__(database, photographs)
        self._lock = lock
        self._signer = signer
        self._one_at_a_time = threading.Lock()
        # So that it need not be asked each time; Batch.sign finds out if it were wrong.
        self._ends: Ends | None = None
        self._doubt: _Doubt | None = None
        self._now = now
        self._new_id = new_id

    @classmethod
    def open(
        cls,
        folder: Path,
        *,
        now: Callable[[], datetime],
        new_id: Callable[[], str],
        url: str | None = None,
    ) -> "Journal":
        """The journal in `folder`, or in the database at `url`, made or upgraded if need be.

        Raises RecordError: in use by another bench, not writable, disk full, not ours, too new.
        """
        with sentences(folder / FILE_NAME):
            make_folder(folder)
            lock = FolderLock(folder)
        try:
            with sentences(folder / FILE_NAME):
                signer = Signer.in_folder(folder)
            database = database_of(folder, url, Access.WRITE)
            try:
                with database.writing() as connection:
                    bring_up_to_date(connection, database.where)
                    sign_what_is_not(connection, signer)
            except BaseException:
                database.close()
                raise
        except BaseException:
            lock.release()
            raise
        return cls(database, Photographs(folder), lock, signer, now=now, new_id=new_id)

    def append(self, drafts: Sequence[Draft], receipt: Receipt | None = None) -> tuple[Entry, ...]:
        """Write `drafts`, and `receipt` with them, in one transaction; they are on the disk when
        this returns, and none of them is there when it raises.

        Raises RefusedError (a job that is not open, a job opened twice, text that is no text),
        KeyUsedError (the key of the receipt stands there already), RecordError.
        """
        with self._one_at_a_time:
            done = self._done_already(drafts)
            if done is not None:
                return done
            ends, self._ends = self._ends, None  # unknown again until the commit has returned
            written: tuple[Entry, ...] = ()
            self._keep_photographs(drafts)
            try:
                with self._database.writing() as connection:
                    if ends is None:
                        ends = ends_of(connection, last_removed(connection))
                    batch = Batch(connection, ends, self._signer, self._now, self._new_id)
                    written = tuple([batch.write(draft) for draft in drafts])
                    batch.sign()
                    if receipt is not None:
                        batch.write_receipt(receipt, written)
            except RecordError:
                if written and self._database.commits_far_away:
                    self._doubt = _Doubt(tuple(drafts), written)
                raise
            job = written[-1].job if written else ""
            self._ends = Ends(ends.cursor, {job: ends.heads[job]} if job else {})
        return written

    def add_plan(self, plan: Plan) -> None:
        """Keep `plan` under its name for the jobs opened from now on; open jobs have their own."""
        row = {
            "name": plan.name,
            "body": plan.model_dump_json(exclude_none=True),
            "at": stamp(self._now()),
        }
        with self._database.writing() as connection:
            connection.execute(delete(plans).where(plans.c.name == plan.name))
            connection.execute(insert(plans).values(**row, seal=plan_seal(row)))

    def remove(self, job: str, reason: str) -> Tombstone:
        """Remove a closed job whole, with its traces and photographs; its tombstone keeps its
        last hash.

        Raises UnknownError, ConflictError for a job that is not closed, RecordError.
        """
        with self._one_at_a_time:
            record = self.record(job)
            if not record.is_signed:
                raise ConflictError(f"job {job!r} is not closed: only closed jobs can be removed")
            self._ends = None
            with self._database.writing() as connection:
                row = connection.execute(select(jobs).where(jobs.c.id == job)).mappings().one()
                at = stamp(self._now())
                stone = remove(connection, self._signer, job_row(row), record, at, reason)
            self.photographs.keep_only(self.photographs_named())
            return stone

    def bring_in(self, record: Record, packed: Mapping[str, bytes], theirs: Photographs) -> bool:
        """Take over a closed job of another bench as it is, with its traces, by their hashes.

        theirs: the photographs of that bench. False if it is here already. Raises ConflictError,
        RecordError, UnknownError for a photograph that is missing there.
        """
        with self._one_at_a_time:
            for each in photographs_of(record):
                self.photographs.keep(each.file_name, theirs.read(each))
            self._ends = None
            with self._database.writing() as connection:
                ends = ends_of(connection, last_removed(connection))
                return bring_in(connection, ends, self._signer, record, packed)

    def close(self) -> None:
        """Let the file and the folder go."""
        super().close()
        self._lock.release()

    def _keep_photographs(self, drafts: Sequence[Draft]) -> None:
        """First, so that no entry ever names a picture that is not on the disk."""
        for draft in drafts:
            if draft.photograph is not None:
                name = file_name_of(draft.body["sha256"], draft.body["media_type"])
                self.photographs.keep(name, draft.photograph)

    def _done_already(self, drafts: Sequence[Draft]) -> tuple[Entry, ...] | None:
        """The entries of these drafts, if they were written and only the answer was lost."""
        if self._doubt is None or self._doubt.drafts != tuple(drafts):
            self._doubt = None
            return None
        written = self._doubt.written
        wanted = select(entries.c.id).where(entries.c.id == written[0].id)
        with self._reading() as connection:
            found = connection.execute(wanted).first() is not None
        self._doubt = None
        return written if found else None
