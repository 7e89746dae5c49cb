"""How many jobs there ever were, signed: a whole job that is gone leaves a gap in the count."""

from sqlalchemy import Connection, delete, func, insert, select, update

from daq.head.record import canonical_json, signed_bytes
from daq.records.chain import read_chain
from daq.records.ready import Ready
from daq.records.rows import ENTRY_COLUMNS, EntryRow, job_row
from daq.records.signing import Signer
from daq.records.tables import counts, entries, jobs

_FORGET = Ready(delete(counts))
_COUNT = Ready(insert(counts), [column.name for column in counts.c])


def count_bytes(number: int) -> bytes:
    """What is signed for so many jobs."""
    return canonical_json(["benchtally.jobs.1", number]).encode()


def sign_count(connection: Connection, signer: Signer, number: int) -> None:
    """Write that there were `number` jobs ever. The row before goes: its signature with it, so
    that nobody can put an earlier count back."""
    seal = signer.sign(count_bytes(number))
    row = {"id": 1, "jobs": number, "key": seal.key, "signature": seal.signature}
    _FORGET.run(connection, {})
    _COUNT.run(connection, row)


def sign_what_is_not(connection: Connection, signer: Signer) -> None:
    """Sign what an older version of the program wrote without; only what is whole is signed."""
    if connection.execute(select(counts.c.id)).first() is None:
        highest = connection.execute(select(func.max(jobs.c.ordinal))).scalar_one()
        sign_count(connection, signer, highest or 0)
    unsigned = connection.execute(select(jobs).where(jobs.c.signature.is_(None))).mappings().all()
    for row in unsigned:
        job = job_row(row)
        of_job = select(*ENTRY_COLUMNS).where(entries.c.job == job.id).order_by(entries.c.number)
        chain = read_chain(job.id, job, [EntryRow(*each) for each in connection.execute(of_job)])
        if chain.findings:
            continue
        seal = signer.sign(signed_bytes(job.id, job.entries, chain.entries[-1].hash))
        connection.execute(
            update(jobs).where(jobs.c.id == job.id).values(key=seal.key, signature=seal.signature)
        )
