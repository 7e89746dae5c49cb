"""Writing: entries go to the disk in one transaction, and only then is anybody told of them.

What it costs: one fsync of the write-ahead log for each `append`, so as long as the disk takes.
"""

import hashlib
import json
import threading
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, NamedTuple

from sqlalchemy import Connection, Engine, Table, bindparam, insert, select, update
from sqlalchemy.dialects import sqlite

from daq.head.errors import ConflictError, RefusedError, UnknownError
from daq.head.plan import Plan
from daq.head.record import GENESIS_HASH, Draft, Entry, EntryKind, canonical_json, sealed
from daq.records.database import FILE_NAME, engine_for, make_folder, sentences, writing
from daq.records.errors import KeyUsedError, RecordError
from daq.records.lock import FolderLock
from daq.records.ready import Ready
from daq.records.records import Records
from daq.records.rows import Receipt, body_of
from daq.records.schema import bring_up_to_date
from daq.records.tables import entries, jobs, plans, receipts, traces


def _named(table: Table, but: str = "") -> list[str]:
    """The columns of `table` that are written; `but`: the one that SQLite counts up itself."""
    return [column.name for column in table.c if column.name != but]


_INSERT_JOB = Ready(insert(jobs), _named(jobs, but="ordinal"))
_INSERT_ENTRY = Ready(insert(entries), _named(entries, but="cursor"))
_INSERT_RECEIPT = Ready(insert(receipts), _named(receipts))
_INSERT_TRACE = Ready(sqlite.insert(traces).on_conflict_do_nothing(), _named(traces))
_HEAD = Ready(select(jobs.c.last_number, jobs.c.last_hash).where(jobs.c.id == bindparam("job")))
_MOVE_HEAD = Ready(
    update(jobs).where(jobs.c.id == bindparam("job"), jobs.c.last_hash == bindparam("previous")),
    ("last_number", "last_hash"),
)
_HAS_TRACE = Ready(select(traces.c.sha256).where(traces.c.sha256 == bindparam("named")))
_HAS_KEY = Ready(select(receipts.c.key).where(receipts.c.key == bindparam("wanted")))


class _Head(NamedTuple):
    number: int
    hash: str


class Journal(Records):
    """The records of a data folder, to write. One process a folder; its methods never overlap.

    now: the time, aware; new_id: an id never given before. Both are asked once an entry.
    """

    def __init__(
        self,
        engine: Engine,
        file: Path,
        lock: FolderLock,
        *,
        now: Callable[[], datetime],
        new_id: Callable[[], str],
    ) -> None:
        super().__init__(engine, file)
        self._lock = lock
        self._one_at_a_time = threading.Lock()
        # Where the chain of the job on the bench ends, so that it need not be asked each time;
        # _MOVE_HEAD finds out if it were wrong.
        self._end: dict[str, _Head] = {}
        self._now = now
        self._new_id = new_id

    @classmethod
    def open(
        cls, folder: Path, *, now: Callable[[], datetime], new_id: Callable[[], str]
    ) -> "Journal":
        """The journal in `folder`, made or upgraded if need be.

        Raises RecordError: in use by another bench, not writable, disk full, not ours, too new.
        """
        file = folder / FILE_NAME
        with sentences(file):
            make_folder(folder)
            lock = FolderLock(folder)
        engine = engine_for(file, writes=True)
        try:
            with writing(engine, file) as connection:
                bring_up_to_date(connection, file)
        except BaseException:
            engine.dispose()
            lock.release()
            raise
        return cls(engine, file, lock, now=now, new_id=new_id)

    def append(self, drafts: Sequence[Draft], receipt: Receipt | None = None) -> tuple[Entry, ...]:
        """Write `drafts`, and `receipt` with them, in one transaction; they are on the disk when
        this returns, and none of them is there when it raises.

        Raises RefusedError (a job that is not open, a job opened twice, text that is no text),
        KeyUsedError (the key of the receipt stands there already), RecordError.
        """
        with self._one_at_a_time:
            ends, self._end = self._end, {}  # unknown again until the commit has returned
            with writing(self._engine, self._file) as connection:
                written = tuple([self._write(connection, draft, ends) for draft in drafts])
                if receipt is not None:
                    _write_receipt(connection, receipt, written)
            if written:
                self._end = {written[-1].job: ends[written[-1].job]}
        return written

    def add_plan(self, plan: Plan) -> None:
        """Keep `plan` under its name for the jobs opened from now on; open jobs have their own."""
        row = {
            "name": plan.name,
            "body": plan.model_dump_json(exclude_none=True),
            "at": _stamp(self._now()),
        }
        query = sqlite.insert(plans).values(row)
        query = query.on_conflict_do_update(index_elements=["name"], set_=row)
        with writing(self._engine, self._file) as connection:
            connection.execute(query)

    def close(self) -> None:
        """Let the file and the folder go."""
        super().close()
        self._lock.release()

    def _write(self, connection: Connection, draft: Draft, ends: dict[str, _Head]) -> Entry:
        _check_trace(connection, draft)
        at = _stamp(self._now())
        head = ends.get(draft.job)
        if head is None or draft.kind is EntryKind.JOB_OPENED:
            head = _head_for(connection, draft, at)
        entry, text = _sealed(draft, head, at, self._new_id())
        moved = _MOVE_HEAD.run(
            connection,
            {
                "job": entry.job,
                "previous": entry.previous,
                "last_number": entry.number,
                "last_hash": entry.hash,
            },
        )
        if moved.rowcount != 1:
            raise RecordError(
                f"The end of job {entry.job} moved while entry {entry.number} was written; "
                "nothing was kept. Another program writes into this database: stop it."
            )
        _INSERT_ENTRY.run(connection, _entry_row(entry, text))
        ends[entry.job] = _Head(entry.number, entry.hash)
        return entry


def _sealed(draft: Draft, head: _Head, at: str, entry_id: str) -> tuple[Entry, str]:
    """The entry that follows `head`, and its body as it is stored."""
    try:
        text = canonical_json(draft.body)
        # As it will be read back, so that what is told now is what is read later.
        stored = replace(draft, body=body_of(text))
        entry = sealed(stored, number=head.number + 1, entry_id=entry_id, at=at, previous=head.hash)
    except (ValueError, TypeError) as error:
        raise RefusedError(
            f"this {draft.kind} cannot be written into the record: {error}; nothing was kept"
        ) from None
    return entry, text


def _entry_row(entry: Entry, body: str) -> dict[str, Any]:
    return {
        "job": entry.job,
        "number": entry.number,
        "id": entry.id,
        "at": entry.at,
        "kind": entry.kind.value,
        "body": body,
        "previous": entry.previous,
        "hash": entry.hash,
    }


def _head_for(connection: Connection, draft: Draft, at: str) -> _Head:
    """Where the chain of the draft's job ends; opens the job if that is what the draft does."""
    row = _HEAD.run(connection, {"job": draft.job}).one_or_none()
    if draft.kind is not EntryKind.JOB_OPENED:
        if row is None:
            raise UnknownError(f"there is no job {draft.job!r}")
        return _Head(row.last_number, row.last_hash)
    if row is not None:
        raise ConflictError(f"job {draft.job!r} is open already")
    opening = {
        "id": draft.job,
        "number": draft.body["number"],
        "opened_at": at,
        "plan": draft.body["plan"]["name"],
        "last_number": 0,
        "last_hash": GENESIS_HASH,
    }
    _INSERT_JOB.run(connection, opening)
    return _Head(0, GENESIS_HASH)


def _check_trace(connection: Connection, draft: Draft) -> None:
    """Store the draft's trace under the hash its body names; the two must agree."""
    named = draft.body.get("trace_sha256")
    if draft.trace is not None:
        if hashlib.sha256(draft.trace).hexdigest() != named:
            raise RecordError(
                f"The trace of this {draft.kind} does not have the hash that it names ({named}); "
                "nothing was kept. Take it again, and report this."
            )
        _INSERT_TRACE.run(connection, {"sha256": named, "packed": draft.trace})
    elif named is not None and _HAS_TRACE.run(connection, {"named": named}).first() is None:
        raise RecordError(
            f"This {draft.kind} names a trace ({named}) that is not there; nothing was kept. "
            "Take it again, and report this."
        )


def _write_receipt(connection: Connection, receipt: Receipt, written: tuple[Entry, ...]) -> None:
    if _HAS_KEY.run(connection, {"wanted": receipt.key}).first() is not None:
        raise KeyUsedError(f"the Idempotency-Key {receipt.key!r} was used already")
    _INSERT_RECEIPT.run(
        connection,
        {
            "key": receipt.key,
            "body_hash": receipt.body_hash,
            "status": receipt.status,
            "answer": receipt.answer,
            "job": written[0].job if written else receipt.job,
            "entries": json.dumps([entry.id for entry in written]),
        },
    )


def _stamp(now: datetime) -> str:
    """RFC 3339 in UTC with milliseconds."""
    return now.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
