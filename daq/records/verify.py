"""Whether the records of a data folder are whole and unaltered, job by job."""

from collections.abc import Iterator
from dataclasses import dataclass

from daq.head.errors import UnknownError
from daq.head.record import GENESIS_HASH, Entry, EntryKind
from daq.records.chain import Fault, Finding
from daq.records.errors import AlteredError
from daq.records.records import Records

# What no look at the file alone can tell; said with every verdict.
NOT_SEEN = (
    "Who can write the file can cut entries off the end, or write a whole other chain, without "
    "a trace in it: compare the count and the hash with those on a sheet or export made earlier."
)


@dataclass(frozen=True, slots=True)
class Verdict:
    """One job. entries, hash: where its chain ends; signed: the last entry closes the job."""

    job: str
    number: str
    entries: int
    hash: str
    signed: bool
    findings: tuple[Finding, ...]

    @property
    def whole(self) -> bool:
        """Nothing was found wrong."""
        return not self.findings


def verify(records: Records) -> Iterator[Verdict]:
    """A verdict for every job, oldest first. Raises RecordError if the file cannot be read."""
    for job in records.job_ids():
        yield verify_job(records, job)


def verify_job(records: Records, job: str) -> Verdict:
    """The verdict for the job with that id: its chain and every trace it names."""
    try:
        chain = records.chain(job)
    except AlteredError as error:
        return Verdict(job, "", 0, "", False, (Finding(job, None, Fault.ALTERED, str(error)),))
    entries = chain.entries
    traces = [finding for entry in entries if (finding := _trace(records, entry)) is not None]
    return Verdict(
        job=job,
        number=str(entries[0].body.get("number", "")) if entries else "",
        entries=len(entries),
        hash=entries[-1].hash if entries else GENESIS_HASH,
        signed=bool(entries) and entries[-1].kind is EntryKind.SIGNED,
        findings=(*chain.findings, *traces),
    )


def _trace(records: Records, entry: Entry) -> Finding | None:
    named = entry.body.get("trace_sha256")
    if named is None:
        return None
    try:
        records.trace(str(named))
    except UnknownError:
        text = f"the trace of entry {entry.number} is missing"
        return Finding(entry.job, entry.number, Fault.TRACE_MISSING, text)
    except AlteredError:
        text = f"the trace of entry {entry.number} was altered"
        return Finding(entry.job, entry.number, Fault.TRACE_ALTERED, text)
    return None
