"""What stands in the tables, read back: jobs, entries, receipts."""

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple, NoReturn

from sqlalchemy import RowMapping

from daq.head.record import Entry, EntryKind, Seal, canonical_json
from daq.records.errors import AlteredError
from daq.records.tables import entries


@dataclass(frozen=True, slots=True)
class JobRow:
    """A job as the index knows it. entries, hash: how long its chain is, and its last hash.
    signed_at: when it was closed; None while it is open.
    cursor: of its last entry. seal: the signature under its end, None where there is none."""

    id: str
    number: str
    opened_at: str
    plan: str
    entries: int
    hash: str
    customer: str | None = None
    signed_at: str | None = None
    cursor: int = field(compare=False, default=0)
    seal: Seal | None = field(compare=False, default=None)
    ordinal: int = field(compare=False, default=0)


@dataclass(frozen=True, slots=True)
class Receipt:
    """That a request was done, so that the same request again is answered and not done again.

    key: the Idempotency-Key. body_hash: of the request's body: the same key with another body is
    a mistake of the sender. status, answer: what was answered, where it is known before the
    write; an answer that speaks of entries is made from them, with `job` and `entries` (their
    ids, in order), which the journal fills in.
    """

    key: str
    body_hash: str
    status: int
    answer: str = ""
    job: str = ""
    entries: tuple[str, ...] = ()


class EntryRow(NamedTuple):
    """An entry exactly as it is stored; any of it may have been altered, types included."""

    cursor: Any
    job: Any
    number: Any
    id: Any
    at: Any
    kind: Any
    body: Any
    previous: Any
    hash: Any


ENTRY_COLUMNS = [entries.c[name] for name in EntryRow._fields]


def job_row(row: RowMapping) -> JobRow:
    """A row of the table of jobs."""
    signature = row["signature"]
    return JobRow(
        id=row["id"],
        number=row["number"],
        opened_at=row["opened_at"],
        plan=row["plan"],
        entries=row["last_number"],
        hash=row["last_hash"],
        customer=row["customer"],
        signed_at=row["signed_at"],
        cursor=row["last_cursor"],
        seal=None if signature is None else Seal(str(row["key"]), str(signature)),
        ordinal=row["ordinal"],
    )


def receipt_seal(row: Mapping[str, Any]) -> str:
    """A hash over a receipt, so that a change in it is seen."""
    return _seal_of(row, ("key", "body_hash", "status", "answer", "job", "entries"))


def plan_seal(row: Mapping[str, Any]) -> str:
    """A hash over a plan that was added, so that a change in it is seen."""
    return _seal_of(row, ("name", "body", "at"))


def _seal_of(row: Mapping[str, Any], names: Sequence[str]) -> str:
    spelt = json.dumps([row[name] for name in names], separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(spelt.encode()).hexdigest()


def entry_row(entry: Entry, cursor: int, body: str | None = None) -> dict[str, Any]:
    """What stands in the table for `entry`. body: its canonical JSON, if that is at hand."""
    return {
        "cursor": cursor,
        "job": entry.job,
        "number": entry.number,
        "id": entry.id,
        "at": entry.at,
        "kind": entry.kind.value,
        "body": canonical_json(entry.body) if body is None else body,
        "previous": entry.previous,
        "hash": entry.hash,
    }


def entry_of(row: EntryRow) -> Entry:
    """The entry in `row`, its hash not yet checked. Raises AlteredError if it cannot be one."""
    texts: Sequence[Any] = (row.job, row.id, row.at, row.kind, row.body, row.previous, row.hash)
    if not all(isinstance(text, str) for text in texts) or not isinstance(row.number, int):
        raise AlteredError(f"entry {row.number} of job {row.job} holds what was never written")
    try:
        body = body_of(row.body)
        kind = EntryKind(row.kind)
        # One spelling only: another one with the same meaning was not written by the journal.
        spelt = isinstance(body, dict) and canonical_json(body) == row.body
    except (ValueError, TypeError, RecursionError):
        spelt = False
    if not spelt:
        raise AlteredError(f"entry {row.number} of job {row.job} holds what was never written")
    return Entry(row.job, row.number, row.id, row.at, kind, body, row.previous, row.hash)


def body_of(text: str) -> Any:
    """The value of canonical JSON. Raises ValueError for numbers that are not whole."""
    return json.loads(text, parse_float=_refuse, parse_constant=_refuse)


def _refuse(number: str) -> NoReturn:
    raise ValueError(f"{number} is not a whole number; a record holds such a number as text")
