"""Whether the stored entries of a job are the ones that were written: all, unaltered, in order."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from daq.head.record import GENESIS_HASH, Entry, EntryKind, Seal, is_whole
from daq.records.errors import AlteredError
from daq.records.rows import EntryRow, JobRow, entry_of


class Fault(StrEnum):
    """What is wrong with a stored record."""

    ALTERED = "altered"
    MISSING = "missing"
    REORDERED = "reordered"
    CUT_OFF = "cut off"
    INDEX = "index"
    TRACE_MISSING = "trace missing"
    TRACE_ALTERED = "trace altered"
    PHOTOGRAPH_MISSING = "photograph missing"
    PHOTOGRAPH_ALTERED = "photograph altered"
    SIGNATURE = "signature"
    REMOVED = "removed"


@dataclass(frozen=True, slots=True)
class Finding:
    """One fault of a stored record. job: "" for what belongs to none. number: the entry it was
    found at, None for the whole job."""

    job: str
    number: int | None
    fault: Fault
    text: str


@dataclass(frozen=True, slots=True)
class Chain:
    """The entries of a job that could be read, and everything that is wrong with them."""

    entries: tuple[Entry, ...]
    findings: tuple[Finding, ...]
    seal: Seal | None = None


def read_chain(job: str, index: JobRow | None, rows: Sequence[EntryRow]) -> Chain:
    """Check the rows of `job`, in the order of their numbers, against themselves and the index.

    Chain and index lie in one file: who can write the file can cut off the end of a chain and
    say so in the index. The signature under the end, which is not checked here, shows that.
    """
    entries: list[Entry] = []
    findings: list[Finding] = []
    previous, expected, cursor = GENESIS_HASH, 1, 0
    for row in rows:
        try:
            entry = entry_of(row)
        except AlteredError:
            # Its hash is all that is left to hang the next entry on.
            findings.append(_altered(job, expected))
            previous, expected = str(row.hash), expected + 1
            continue
        entries.append(entry)
        findings += _follows(entry, row, expected=expected, previous=previous, cursor=cursor)
        previous, expected, cursor = entry.hash, entry.number + 1, row.cursor
    findings += _against_index(job, index, entries, expected - 1, cursor)
    return Chain(tuple(entries), tuple(findings), None if index is None else index.seal)


def _follows(
    entry: Entry, row: EntryRow, *, expected: int, previous: str, cursor: int
) -> list[Finding]:
    job = entry.job
    if not is_whole(entry, previous=entry.previous):
        return [_altered(job, entry.number)]
    if entry.number != expected:
        missing = f"{expected} to {entry.number - 1}" if entry.number > expected + 1 else expected
        return [Finding(job, expected, Fault.MISSING, f"entry {missing} of the record is missing")]
    if entry.previous != previous:
        text = f"entry {entry.number} does not follow the one before it"
        return [Finding(job, entry.number, Fault.ALTERED, text)]
    if row.cursor <= cursor:
        text = f"entry {entry.number} stands before the one it was written after"
        return [Finding(job, entry.number, Fault.REORDERED, text)]
    return []


def _altered(job: str, number: int) -> Finding:
    text = f"entry {number} of the record was altered: its hash is of something else"
    return Finding(job, number, Fault.ALTERED, text)


def _against_index(
    job: str, index: JobRow | None, entries: Sequence[Entry], count: int, cursor: int
) -> list[Finding]:
    if index is None:
        return [Finding(job, None, Fault.INDEX, "its entries are there, the job itself is not")]
    if isinstance(index.entries, int) and count < index.entries:
        text = f"the record was cut off: {count} entries are there, {index.entries} were written"
        return [Finding(job, count, Fault.CUT_OFF, text)]
    if not entries or index != index_of(entries) or index.cursor != cursor:
        text = "the job's number, plan, customer, times or end is not what its entries say"
        return [Finding(job, None, Fault.INDEX, text)]
    return []


def index_of(entries: Sequence[Entry]) -> JobRow | None:
    """What the index says of a job with these entries; None if they do not begin as a job does."""
    first, last = entries[0], entries[-1]
    plan = first.body.get("plan")
    if first.kind is not EntryKind.JOB_OPENED or not isinstance(plan, dict):
        return None
    number, name = str(first.body.get("number")), str(plan.get("name"))
    closed = [entry.at for entry in entries if entry.kind is EntryKind.SIGNED]
    return JobRow(
        first.job,
        number,
        first.at,
        name,
        last.number,
        last.hash,
        customer=first.body.get("customer"),
        signed_at=closed[-1] if closed else None,
    )
