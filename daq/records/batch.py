"""One transaction's worth of entries: numbered, chained, and the ends of their chains signed."""

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import NamedTuple

from sqlalchemy import Connection, Table, bindparam, func, insert, select, update
from sqlalchemy.dialects import postgresql, sqlite

from daq.head.errors import ConflictError, RefusedError, UnknownError
from daq.head.record import (
    GENESIS_HASH,
    Draft,
    Entry,
    EntryKind,
    canonical_json,
    sealed,
    signed_bytes,
)
from daq.records.counted import sign_count
from daq.records.errors import KeyUsedError, RecordError
from daq.records.finding import note_words
from daq.records.ready import Ready
from daq.records.rows import Receipt, body_of, entry_row, receipt_seal
from daq.records.signing import Signer
from daq.records.tables import counts, entries, jobs, receipts, tombstones, traces


def _named(table: Table) -> list[str]:
    return [column.name for column in table.c]


_INSERT_JOB = Ready(insert(jobs), _named(jobs))
_INSERT_ENTRY = Ready(insert(entries), _named(entries))
_INSERT_RECEIPT = Ready(insert(receipts), _named(receipts))
_INSERT_TRACE = Ready(
    sqlite.insert(traces).on_conflict_do_nothing(),
    _named(traces),
    postgresql=postgresql.insert(traces).on_conflict_do_nothing(),
)
_HEAD = Ready(select(jobs.c.last_number, jobs.c.last_hash).where(jobs.c.id == bindparam("job")))
_MOVE_HEAD = Ready(
    update(jobs).where(jobs.c.id == bindparam("job"), jobs.c.last_hash == bindparam("previous")),
    ("last_number", "last_hash", "last_cursor", "key", "signature"),
)
_CLOSE = Ready(update(jobs).where(jobs.c.id == bindparam("job")), ("signed_at",))
_HAS_TRACE = Ready(select(traces.c.sha256).where(traces.c.sha256 == bindparam("named")))
_HAS_KEY = Ready(select(receipts.c.key).where(receipts.c.key == bindparam("wanted")))
_WAS_REMOVED = Ready(select(tombstones.c.job).where(tombstones.c.job == bindparam("job")))
_JOBS_EVER = Ready(select(counts.c.jobs))


class Head(NamedTuple):
    """Where the chain of a job ends. cursor: of its last entry, 0 until one is written here."""

    number: int
    hash: str
    cursor: int = 0


@dataclass(slots=True)
class Ends:
    """Where everything ends, so that it need not be asked each time. cursor: the last one given."""

    cursor: int
    heads: dict[str, Head] = field(default_factory=dict)


def ends_of(connection: Connection, removed_cursor: int) -> Ends:
    """Where everything ends, from the tables. removed_cursor: the last of what was removed."""
    last = connection.execute(select(func.coalesce(func.max(entries.c.cursor), 0))).scalar_one()
    return Ends(max(int(last), removed_cursor))


class Batch:
    """What is written in one transaction. now, new_id: asked once an entry."""

    def __init__(
        self,
        connection: Connection,
        ends: Ends,
        signer: Signer,
        now: Callable[[], datetime],
        new_id: Callable[[], str],
    ) -> None:
        self._connection = connection
        self._ends = ends
        self._signer = signer
        self._now = now
        self._new_id = new_id
        self._began: dict[str, str] = {}

    def write(self, draft: Draft) -> Entry:
        """Write `draft` behind what its job has. Raises RefusedError, RecordError."""
        self._check_trace(draft)
        at = stamp(self._now())
        head = self._ends.heads.get(draft.job)
        if head is None or draft.kind is EntryKind.JOB_OPENED:
            head = self._head_for(draft, at)
        entry, text = _sealed(draft, head, at, self._new_id())
        self._ends.cursor += 1
        row = entry_row(entry, self._ends.cursor, text)
        _INSERT_ENTRY.run(self._connection, row)
        if draft.kind is EntryKind.SIGNED:
            _CLOSE.run(self._connection, {"job": draft.job, "signed_at": at})
        self._began.setdefault(entry.job, head.hash)
        self._ends.heads[entry.job] = Head(entry.number, entry.hash, self._ends.cursor)
        return entry

    def sign(self) -> None:
        """Move the ends of the chains that grew, signed. Raises RecordError if one had moved."""
        for job, previous in self._began.items():
            head = self._ends.heads[job]
            seal = self._signer.sign(signed_bytes(job, head.number, head.hash))
            moved = _MOVE_HEAD.run(
                self._connection,
                {
                    "job": job,
                    "previous": previous,
                    "last_number": head.number,
                    "last_hash": head.hash,
                    "last_cursor": head.cursor,
                    "key": seal.key,
                    "signature": seal.signature,
                },
            )
            if moved.rowcount != 1:
                raise RecordError(
                    f"The end of job {job} moved while entry {head.number} was written; nothing "
                    "was kept. Another program writes into this database: stop it."
                )

    def write_receipt(self, receipt: Receipt, written: tuple[Entry, ...]) -> None:
        """Write `receipt` for what was written. Raises KeyUsedError."""
        if _HAS_KEY.run(self._connection, {"wanted": receipt.key}).first() is not None:
            raise KeyUsedError(f"the Idempotency-Key {receipt.key!r} was used already")
        row = {
            "key": receipt.key,
            "body_hash": receipt.body_hash,
            "status": receipt.status,
            "answer": receipt.answer,
            "job": written[0].job if written else receipt.job,
            "entries": json.dumps([entry.id for entry in written]),
        }
        _INSERT_RECEIPT.run(self._connection, {**row, "seal": receipt_seal(row)})

    def _head_for(self, draft: Draft, at: str) -> Head:
        """Where the chain of the draft's job ends; opens the job if that is what it does."""
        row = _HEAD.run(self._connection, {"job": draft.job}).one_or_none()
        if draft.kind is not EntryKind.JOB_OPENED:
            if row is None:
                raise UnknownError(f"there is no job {draft.job!r}")
            return Head(row.last_number, row.last_hash)
        if row is not None:
            raise ConflictError(f"job {draft.job!r} is open already")
        if _WAS_REMOVED.run(self._connection, {"job": draft.job}).first() is not None:
            raise ConflictError(f"job {draft.job!r} was here once, and was removed")
        ordinal = int(_JOBS_EVER.run(self._connection, {}).scalar_one()) + 1
        opening = {
            "ordinal": ordinal,
            "id": draft.job,
            "number": draft.body["number"],
            "opened_at": at,
            "plan": draft.body["plan"]["name"],
            "last_number": 0,
            "last_hash": GENESIS_HASH,
            "last_cursor": self._ends.cursor,
            "key": None,
            "signature": None,
            "customer": draft.body.get("customer"),
            "signed_at": None,
        }
        _INSERT_JOB.run(self._connection, opening)
        note_words(self._connection, ordinal, draft.body)
        sign_count(self._connection, self._signer, ordinal)
        return Head(0, GENESIS_HASH)

    def _check_trace(self, draft: Draft) -> None:
        """Store the draft's trace under the hash its body names; the two must agree."""
        named = draft.body.get("trace_sha256")
        if draft.trace is not None:
            if hashlib.sha256(draft.trace).hexdigest() != named:
                raise RecordError(
                    f"The trace of this {draft.kind} does not have the hash that it names "
                    f"({named}); nothing was kept. Take it again, and report this."
                )
            _INSERT_TRACE.run(self._connection, {"sha256": named, "packed": draft.trace})
        elif named is not None and not self._has_trace(named):
            raise RecordError(
                f"This {draft.kind} names a trace ({named}) that is not there; nothing was kept. "
                "Take it again, and report this."
            )

    def _has_trace(self, named: str) -> bool:
        return _HAS_TRACE.run(self._connection, {"named": named}).first() is not None


def _sealed(draft: Draft, head: Head, at: str, entry_id: str) -> tuple[Entry, str]:
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


def stamp(now: datetime) -> str:
    """RFC 3339 in UTC with milliseconds."""
    return now.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
