"""What no single job shows: whole jobs that are gone, moved cursors, receipts, added plans."""

from collections.abc import Iterable, Iterator, Mapping
from itertools import chain
from typing import Any

from sqlalchemy import Connection, Table, select

from daq.head.record import Seal
from daq.records.chain import Fault, Finding
from daq.records.counted import count_bytes
from daq.records.finding import words_of
from daq.records.records import Records
from daq.records.rows import body_of, plan_seal, receipt_seal
from daq.records.signing import Keys, fault_of
from daq.records.tables import counts, entries, job_words, jobs, plans, receipts
from daq.records.tombstones import Tombstone, read_tombstones, tombstone_of

GAPS_SHOWN = 20


def verify_store(records: Records, keys: Keys) -> list[Finding]:
    """Everything that is wrong beside the records of the single jobs. Raises RecordError."""
    with records.looking() as connection:
        stones, found = _tombstones(connection, keys)
        found += _numbers(connection, stones)
        found += _count(connection, stones, keys)
        found += _words(connection)
        found += _sealed(connection, receipts, "key", receipt_seal, "the receipt of the request")
        found += _sealed(connection, plans, "name", plan_seal, "the added plan")
        return found


def _tombstones(connection: Connection, keys: Keys) -> tuple[list[Tombstone], list[Finding]]:
    stones, found = [], []
    for row in read_tombstones(connection):
        job = str(row["job"])
        try:
            stone = tombstone_of(row)
            fault = fault_of(stone.seal, stone.message, keys)
            stones.append(stone)
        except (ValueError, TypeError, AttributeError):
            fault = "was altered"
        if fault:
            text = f"the tombstone of job {job} {fault}"
            found.append(Finding(job, None, Fault.SIGNATURE, text))
    return stones, found


def _numbers(connection: Connection, stones: list[Tombstone]) -> list[Finding]:
    """Cursors and ordinals have no gap but those of what was removed."""
    cursors = connection.execute(select(entries.c.cursor).order_by(entries.c.cursor)).scalars()
    ordinals = connection.execute(select(jobs.c.ordinal).order_by(jobs.c.ordinal)).scalars()
    gone = sorted(chain.from_iterable(stone.cursors for stone in stones))
    gone_jobs = sorted(stone.ordinal for stone in stones)
    found = [
        *_gaps(cursors, gone, "the entry with the cursor"),
        *_gaps(ordinals, gone_jobs, "the job with the ordinal"),
    ]
    return found[:GAPS_SHOWN]


def _gaps(stored: Iterable[Any], gone: list[int], what: str) -> Iterator[Finding]:
    expected, removed = 1, iter([*gone, 0])
    next_gone = next(removed)
    for number in stored:
        if not isinstance(number, int):
            yield Finding("", None, Fault.ALTERED, f"{what} {number!r} was altered")
            continue
        while expected < number:
            if expected == next_gone:
                next_gone = next(removed)
            else:
                yield Finding("", None, Fault.MISSING, f"{what} {expected} is missing or was moved")
                expected = number - 1 if number - expected > GAPS_SHOWN else expected
            expected += 1
        if number < expected:
            yield Finding("", None, Fault.REORDERED, f"{what} {number} is where none can be")
            continue
        if number == next_gone:
            yield Finding("", None, Fault.ALTERED, f"{what} {number} is there and was removed")
            next_gone = next(removed)
        expected = number + 1


def _count(connection: Connection, stones: list[Tombstone], keys: Keys) -> list[Finding]:
    """The signed number of jobs that ever were, against those that are and those removed."""
    row = connection.execute(select(counts)).mappings().one_or_none()
    if row is None or not isinstance(row["jobs"], int):
        text = "the number of jobs that ever were is not there: it was removed or altered"
        return [Finding("", None, Fault.MISSING, text)]
    fault = fault_of(Seal(str(row["key"]), str(row["signature"])), count_bytes(row["jobs"]), keys)
    if fault or row["id"] != 1:
        return [Finding("", None, Fault.SIGNATURE, f"the number of jobs {fault or 'was altered'}")]
    there = len(connection.execute(select(jobs.c.ordinal)).all())
    if there + len(stones) != row["jobs"]:
        text = (
            f"{row['jobs']} jobs were opened, {there} are there and {len(stones)} were removed: "
            "a whole job is gone, or one is there that never was"
        )
        return [Finding("", None, Fault.MISSING, text)]
    return []


def _words(connection: Connection) -> list[Finding]:
    """Every job is found by the words that its opening says, and by no others."""
    stored: dict[Any, set[Any]] = {}
    for word, ordinal in connection.execute(select(job_words)):
        stored.setdefault(ordinal, set()).add(word)
    of_jobs = select(jobs.c.ordinal, jobs.c.id, entries.c.body)
    opening = (entries.c.job == jobs.c.id) & (entries.c.number == 1)
    found = []
    for ordinal, job, body in connection.execute(of_jobs.join(entries, opening)):
        try:
            said = set(words_of(body_of(body)))
        except (ValueError, TypeError, AttributeError, KeyError, RecursionError):
            said = stored.get(ordinal, set())  # its chain says that it was altered
        if stored.get(ordinal, set()) != said:
            text = "the words that the job is found by are not those of its opening"
            found.append(Finding(str(job), None, Fault.INDEX, text))
    return found


def _sealed(
    connection: Connection, table: Table, named: str, seal_of: Any, what: str
) -> list[Finding]:
    found = []
    for row in connection.execute(select(table)).mappings():
        plain: Mapping[str, Any] = dict(row)
        try:
            whole = row["seal"] == seal_of(plain)
        except (TypeError, ValueError, UnicodeError):
            whole = False
        if not whole:
            found.append(Finding("", None, Fault.ALTERED, f"{what} {row[named]!r} was altered"))
    return found
