"""Removing whole closed jobs: what is left is a tombstone with the last hash, signed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, delete, insert, select

from daq.head.record import Record, Seal, canonical_json
from daq.records.finding import forget_words
from daq.records.rows import JobRow
from daq.records.signing import Signer
from daq.records.tables import entries, jobs, tombstones, traces

_SIGNED = (
    *("job", "number", "ordinal", "entries", "hash", "cursors", "traces", "removed_at", "reason"),
)


@dataclass(frozen=True, slots=True)
class Tombstone:
    """A job that was removed. cursors: those of its entries; traces: the hashes that went too."""

    job: str
    number: str
    ordinal: int
    entries: int
    hash: str
    cursors: tuple[int, ...]
    traces: tuple[str, ...]
    removed_at: str
    reason: str
    seal: Seal

    @property
    def message(self) -> bytes:
        """What its seal signs."""
        return _message(_row(self))


def _message(row: Mapping[str, Any]) -> bytes:
    return canonical_json(["benchtally.tombstone.1", *[row[name] for name in _SIGNED]]).encode()


def _row(stone: Tombstone) -> dict[str, Any]:
    return {
        "job": stone.job,
        "number": stone.number,
        "ordinal": stone.ordinal,
        "entries": stone.entries,
        "hash": stone.hash,
        "cursors": spans(stone.cursors),
        "traces": " ".join(stone.traces),
        "removed_at": stone.removed_at,
        "reason": stone.reason,
    }


def spans(numbers: Sequence[int]) -> str:
    """Ascending numbers, short: `3-7 9 12-13`."""
    parts: list[list[int]] = []
    for number in numbers:
        if parts and number == parts[-1][1] + 1:
            parts[-1][1] = number
        else:
            parts.append([number, number])
    return " ".join(f"{a}" if a == b else f"{a}-{b}" for a, b in parts)


def numbers_in(text: str) -> tuple[int, ...]:
    """The numbers that `spans` spelt. Raises ValueError for anything else."""
    found: list[int] = []
    for part in text.split(" ") if text else []:
        first, _, last = part.partition("-")
        found += range(int(first), int(last or first) + 1)
    return tuple(found)


def last_removed(connection: Connection) -> int:
    """The highest cursor of all that was removed; 0 when nothing was."""
    texts = connection.execute(select(tombstones.c.cursors)).scalars()
    return max((numbers_in(text)[-1] for text in texts), default=0)


def read_tombstones(connection: Connection) -> list[Mapping[str, Any]]:
    """The rows, as they are stored; any of it may have been altered."""
    return [dict(row) for row in connection.execute(select(tombstones)).mappings()]


def tombstone_of(row: Mapping[str, Any]) -> Tombstone:
    """The tombstone in a row. Raises ValueError if it cannot be one."""
    return Tombstone(
        **{name: row[name] for name in ("job", "number", "ordinal", "entries", "hash")},
        cursors=numbers_in(str(row["cursors"])),
        traces=tuple(str(row["traces"]).split()),
        removed_at=row["removed_at"],
        reason=row["reason"],
        seal=Seal(str(row["key"]), str(row["signature"])),
    )


def remove(
    connection: Connection, signer: Signer, job: JobRow, record: Record, at: str, reason: str
) -> Tombstone:
    """Remove a closed job with its traces, and put its tombstone in their place.

    Traces that another job names as well stay.
    """
    of_job = select(entries.c.cursor).where(entries.c.job == job.id).order_by(entries.c.cursor)
    named = {str(e.body["trace_sha256"]) for e in record.entries if e.body.get("trace_sha256")}
    gone = sorted(sha256 for sha256 in named if not _named_elsewhere(connection, sha256, job.id))
    unsealed = Tombstone(
        job=job.id,
        number=job.number,
        ordinal=job.ordinal,
        entries=job.entries,
        hash=job.hash,
        cursors=tuple(connection.execute(of_job).scalars()),
        traces=tuple(gone),
        removed_at=at,
        reason=reason,
        seal=Seal("", ""),
    )
    seal = signer.sign(unsealed.message)
    connection.execute(
        insert(tombstones).values(**_row(unsealed), key=seal.key, signature=seal.signature)
    )
    connection.execute(delete(entries).where(entries.c.job == job.id))
    connection.execute(delete(jobs).where(jobs.c.id == job.id))
    forget_words(connection, job.ordinal)
    for sha256 in gone:
        connection.execute(delete(traces).where(traces.c.sha256 == sha256))
    return unsealed


def _named_elsewhere(connection: Connection, sha256: str, job: str) -> bool:
    """Rare, and asked for each trace of a job that goes: a look through the bodies will do."""
    wanted = select(entries.c.id).where(
        entries.c.job != job, entries.c.body.contains(sha256, autoescape=True)
    )
    return connection.execute(wanted.limit(1)).first() is not None
