"""What each receiver was told, and what is still to be told.

The journal is the outbox: an entry is what is to be told, written in the transaction of the
record because it is the record, and cursors have no gaps. A receiver is one number, the cursor up
to which it was told everything. It is written beside the bench, without an fsync: what a power
cut takes back is told twice, and never lost.
"""

from collections.abc import Iterable
from typing import ClassVar, NamedTuple

from sqlalchemy import bindparam, func, insert, select, update

from daq.records.base import Access
from daq.records.records import Records
from daq.records.tables import destinations, entries

_TOLD = update(destinations).where(destinations.c.name == bindparam("named"))


class Destination(NamedTuple):
    """A receiver. cursor: up to where it was told everything; off: why nothing more, or ""."""

    name: str
    cursor: int
    off: str


class Outbox(Records):
    """The records of a bench, to be told; on a connection of its own, so that nobody waits."""

    ACCESS: ClassVar = Access.BESIDE

    def begin(self, names: Iterable[str]) -> None:
        """Make these the receivers. A new one is told what is written from now on; one that was
        left out and comes again goes on where it was."""
        with self._database.writing() as connection:
            known = set(connection.execute(select(destinations.c.name)).scalars())
            last = connection.execute(select(func.coalesce(func.max(entries.c.cursor), 0)))
            end = last.scalar_one()
            for name in names:
                if name not in known:
                    row = {"name": name, "cursor": end, "off": ""}
                    connection.execute(insert(destinations).values(row))

    def destination(self, name: str) -> Destination:
        """How far that receiver is. Raises RecordError."""
        wanted = select(destinations.c.cursor, destinations.c.off)
        with self._reading() as connection:
            row = connection.execute(wanted.where(destinations.c.name == name)).one()
        return Destination(name, row.cursor, row.off)

    def told(self, name: str, cursor: int) -> None:
        """That receiver was told everything up to `cursor`."""
        with self._database.writing() as connection:
            connection.execute(_TOLD.values(cursor=cursor), {"named": name})

    def switch(self, name: str, off: str) -> None:
        """Tell that receiver nothing more and say why; with "" go on where it was."""
        with self._database.writing() as connection:
            connection.execute(_TOLD.values(off=off), {"named": name})

    def depth(self, name: str) -> int:
        """How many entries that receiver is still to be told."""
        behind = entries.c.cursor > (
            select(destinations.c.cursor).where(destinations.c.name == name).scalar_subquery()
        )
        with self._reading() as connection:
            counted = select(func.count()).select_from(entries).where(behind)
            return int(connection.execute(counted).scalar_one())
