"""Another bench's closed job, taken over as it is: its ids, its hashes and its own signature."""

from collections.abc import Mapping

from sqlalchemy import Connection, insert, select, update
from sqlalchemy.dialects import postgresql, sqlite

from daq.head.errors import ConflictError
from daq.head.record import GENESIS_HASH, EntryKind, Record
from daq.records.batch import Ends
from daq.records.counted import sign_count
from daq.records.finding import note_words
from daq.records.rows import entry_row
from daq.records.signing import Signer
from daq.records.tables import counts, entries, jobs, tombstones, traces


def bring_in(
    connection: Connection, ends: Ends, signer: Signer, record: Record, packed: Mapping[str, bytes]
) -> bool:
    """Write the job of `record` with its traces; False if it is here already, entry for entry.

    packed: the traces it names, by hash. Raises ConflictError where another job has its id.
    """
    last = record.entries[-1]
    if record.seal is None or not record.is_signed:
        raise ConflictError(f"job {record.job!r} is not closed: only closed jobs are taken over")
    here = connection.execute(select(jobs.c.last_hash).where(jobs.c.id == record.job)).scalar()
    if here is None:
        stone = select(tombstones.c.hash).where(tombstones.c.job == record.job)
        here = connection.execute(stone).scalar()
    if here == last.hash:
        return False
    if here is not None:
        raise ConflictError(f"another job has the id {record.job!r} here; it was left as it is")
    ordinal = int(connection.execute(select(counts.c.jobs)).scalar_one()) + 1
    connection.execute(
        insert(jobs).values(
            ordinal=ordinal,
            id=record.job,
            number=record.opening["number"],
            opened_at=record.entries[0].at,
            plan=record.opening["plan"]["name"],
            last_number=0,
            last_hash=GENESIS_HASH,
            last_cursor=0,
            customer=record.opening.get("customer"),
            signed_at=record.of_kind(EntryKind.SIGNED)[-1].at,
        )
    )
    note_words(connection, ordinal, record.opening)
    sign_count(connection, signer, ordinal)
    dialect = postgresql if connection.dialect.name == "postgresql" else sqlite
    for sha256, content in packed.items():
        put = dialect.insert(traces).on_conflict_do_nothing()
        connection.execute(put.values(sha256=sha256, packed=content))
    for entry in record.entries:
        ends.cursor += 1
        connection.execute(insert(entries).values(**entry_row(entry, ends.cursor)))
    connection.execute(
        update(jobs)
        .where(jobs.c.id == record.job)
        .values(
            last_number=last.number,
            last_hash=last.hash,
            last_cursor=ends.cursor,
            key=record.seal.key,
            signature=record.seal.signature,
        )
    )
    return True
