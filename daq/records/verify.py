"""Whether the records of a data folder are whole and unaltered, job by job."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from daq.head.errors import UnknownError
from daq.head.photograph import photograph_of
from daq.head.record import GENESIS_HASH, Entry, EntryKind, Seal, signed_bytes
from daq.records.chain import Fault, Finding
from daq.records.errors import AlteredError
from daq.records.records import Records
from daq.records.signing import Keys, fault_of

# What no look at the file alone can tell; said with every verdict.
NOT_SEEN = (
    "Who puts an older copy of the whole data folder in its place leaves no trace in it: compare "
    "the count and the hash with those on a sheet or export made earlier."
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


def verify(records: Records, keys: Keys) -> Iterator[Verdict]:
    """A verdict for every job, oldest first. keys: the public ones that may have signed.

    Raises RecordError if the file cannot be read.
    """
    for job in records.job_ids():
        yield verify_job(records, job, keys)


def verify_job(records: Records, job: str, keys: Keys) -> Verdict:
    """The verdict for the job with that id: its chain, its seal, and every trace and photograph
    it names."""
    try:
        chain = records.chain(job)
    except AlteredError as error:
        return Verdict(job, "", 0, "", False, (Finding(job, None, Fault.ALTERED, str(error)),))
    entries = chain.entries
    beside = filter(None, (_trace(records, e) or _photograph(records, e) for e in entries))
    return Verdict(
        job=job,
        number=str(entries[0].body.get("number", "")) if entries else "",
        entries=len(entries),
        hash=entries[-1].hash if entries else GENESIS_HASH,
        signed=bool(entries) and entries[-1].kind is EntryKind.SIGNED,
        findings=(
            *chain.findings,
            *seal_findings(job, entries, chain.seal, keys),
            *beside,
        ),
    )


def seal_findings(
    job: str, entries: Sequence[Entry], seal: Seal | None, keys: Keys
) -> tuple[Finding, ...]:
    """What is wrong with the seal under the end of these entries."""
    last = entries[-1] if entries else None
    if not isinstance(job, str):
        return (Finding(str(job), None, Fault.ALTERED, "the id of the job was altered"),)
    message = signed_bytes(job, last.number if last else 0, last.hash if last else GENESIS_HASH)
    fault = fault_of(seal, message, keys)
    if not fault:
        return ()
    number = last.number if last else None
    return (Finding(job, number, Fault.SIGNATURE, f"the end of the record {fault}"),)


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


def _photograph(records: Records, entry: Entry) -> Finding | None:
    if entry.kind is not EntryKind.PHOTOGRAPHED:
        return None
    try:
        records.photographs.read(photograph_of(entry))
    except UnknownError as error:
        return Finding(entry.job, entry.number, Fault.PHOTOGRAPH_MISSING, str(error))
    except AlteredError as error:
        return Finding(entry.job, entry.number, Fault.PHOTOGRAPH_ALTERED, str(error))
    return None
