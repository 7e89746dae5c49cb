"""Records over the years: copies, what may go, and what comes from another bench."""

import shutil
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import uuid4

from daq.head.record import Record
from daq.records.backup import copy_of
from daq.records.database import FILE_NAME, make_folder
from daq.records.errors import RecordError
from daq.records.journal import Journal
from daq.records.photographs import Photographs
from daq.records.records import Records
from daq.records.signing import KEY_FILE, PUBLIC_FILE, public_keys, trust
from daq.records.verify import verify
from daq.records.verify_store import verify_store

DAYS_A_YEAR = 365.25


class KeepingError(Exception):
    """For whoever gave the command: what cannot be done, and what to do instead."""


def back_up(folder: Path, out: Path) -> Iterator[str]:
    """Copy the records while the bench runs, and check the copy. Raises RecordError."""
    copy_of(folder, out)
    count = _checked(out)
    yield f"{out}: {count} jobs, whole and unaltered. It holds the signing key: keep it as safe."


def put_back(source: Path, folder: Path) -> Iterator[str]:
    """Put a backup where no records are. Raises KeepingError, RecordError."""
    if (folder / FILE_NAME).exists():
        raise KeepingError(
            f"{folder} holds records already; move them away first, nothing is written over."
        )
    count = _checked(source)
    make_folder(folder)
    Photographs(source).copy_to(folder)
    for name in (KEY_FILE, PUBLIC_FILE, FILE_NAME):
        shutil.copy2(source / name, folder / name)
    yield f"{folder}: {count} jobs are back."
    yield (
        "What was written after the backup is missing, and its places are given again: if a "
        "collector has those events, give the bench a new name."
    )


def _checked(folder: Path) -> int:
    """How many jobs there are, all of them whole."""
    with Records.open_to_read(folder) as records:
        keys = public_keys(folder / PUBLIC_FILE)
        verdicts = list(verify(records, keys))
        wrong = [f.text for verdict in verdicts for f in verdict.findings]
        wrong += [*records.damage(), *(f.text for f in verify_store(records, keys))]
    if wrong:
        raise RecordError(f"The records in {folder} are not whole: {'; '.join(wrong[:5])}.")
    return len(verdicts)


def remove_old(
    folder: Path, url: str | None, years: float, reason: str, now: datetime, *, do_it: bool
) -> Iterator[str]:
    """Remove jobs closed longer ago than `years`, or say which. The bench must be stopped.

    Raises RecordError.
    """
    before = now - timedelta(days=years * DAYS_A_YEAR)
    limit = before.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
    journal = Journal.open(folder, now=lambda: now, new_id=lambda: str(uuid4()), url=url)
    with journal:
        old = [record for record in _closed(journal) if record.entries[-1].at < limit]
        for record in old:
            if do_it:
                journal.remove(record.job, reason)
            said = "removed" if do_it else "would go"
            number, at = record.opening["number"], record.entries[-1].at
            yield f"job {number} ({record.job}), closed {at}: {said}"
    yield f"{len(old)} jobs" + (
        "" if do_it else "; with --do-it they go, and nothing brings them back"
    )


def take_over(source: Path, key: Path, folder: Path, url: str | None) -> Iterator[str]:
    """Take over the closed jobs of another bench. This bench must be stopped.

    key: the public key of that bench. Raises RefusedError, RecordError.
    """
    keys = public_keys(key)
    journal = Journal.open(
        folder, now=lambda: datetime.now(UTC), new_id=lambda: str(uuid4()), url=url
    )
    with journal, Records.open_to_read(source) as records:
        trust(folder, keys)
        for verdict in verify(records, keys):
            name = f"job {verdict.number} ({verdict.job})"
            if verdict.findings:
                yield f"{name}: left out: {verdict.findings[0].text}"
            elif not verdict.signed:
                yield f"{name}: left out: it is not closed"
            else:
                record = records.record(verdict.job)
                new = journal.bring_in(record, _traces(records, record), records.photographs)
                yield f"{name}: {'taken over' if new else 'was here already'}"


def _closed(records: Records) -> Iterator[Record]:
    for job in records.job_ids():
        record = records.record(job)
        if record.is_signed:
            yield record


def _traces(records: Records, record: Record) -> dict[str, bytes]:
    named = {entry.body.get("trace_sha256") for entry in record.entries}
    return {sha256: records.trace(sha256) for sha256 in named if sha256 is not None}
