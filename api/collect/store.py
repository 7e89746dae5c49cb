"""The collector's tables: every event once, and up to where each bench is whole.

A bench numbers its events without a gap, so `whole_to` says that nothing before it is missing.
Readers look at the view `in_order`: what stands there has everything before it there, too, however
many collectors share the work and in whatever order they get it.
"""

import asyncio
from collections.abc import Mapping, Sequence

import psycopg

from api.collect.event import Collected
from api.collect.schema import bring_up_to_date

_COLUMNS = ("source", "cursor", "id", "type", "job", "time", "body")
_GIVEN = (
    "unnest(%(source)s::text[], %(cursor)s::bigint[], %(id)s::text[], %(type)s::text[], "
    "%(job)s::text[], %(time)s::text[], %(body)s::json[])"
)
_BENCHES = """
INSERT INTO benches (source, whole_to, last_seen)
SELECT source, CASE WHEN source = ANY(%(reachable)s) THEN 0 ELSE min(cursor) - 1 END, 0
FROM unnest(%(source)s::text[], %(cursor)s::bigint[]) AS given (source, cursor)
GROUP BY source ORDER BY source ON CONFLICT DO NOTHING
"""
_KNOWN = (
    "INSERT INTO benches (source, whole_to, last_seen) VALUES (%s, 0, 0) ON CONFLICT DO NOTHING"
)
# In one order, so that two collectors never wait for each other; and before the events are
# written, so that whoever comes second sees what the first one wrote.
_LOCK = """
SELECT source FROM benches WHERE source = ANY(%(source)s::text[]) ORDER BY source FOR UPDATE
"""
_EVENTS = f"""
INSERT INTO events (source, cursor, id, type, job, time, body)
SELECT * FROM {_GIVEN} ON CONFLICT DO NOTHING
"""  # noqa: S608 - our own text
_CLASHES = f"""
SELECT count(*) FROM events
JOIN (SELECT * FROM {_GIVEN} AS given (source, cursor, id, type, job, time, body)) AS given
USING (source, cursor) WHERE events.id <> given.id
"""  # noqa: S608 - our own text
_ADVANCE = """
WITH ahead AS (
    SELECT source, cursor, whole_to,
        row_number() OVER (PARTITION BY source ORDER BY cursor) AS number
    FROM events JOIN benches USING (source)
    WHERE source = ANY(%(source)s::text[]) AND cursor > whole_to
), reached AS (
    SELECT source, max(cursor) AS cursor,
        max(cursor) FILTER (WHERE cursor = whole_to + number) AS whole
    FROM ahead GROUP BY source
)
UPDATE benches SET
    whole_to = coalesce(reached.whole, whole_to),
    last_seen = greatest(last_seen, reached.cursor)
FROM reached WHERE reached.source = benches.source
"""


class Store:
    """The tables, over one connection. Raises psycopg.Error; it is opened again by `open`."""

    def __init__(self, url: str, reachable: Sequence[str]) -> None:
        """reachable: benches that can be asked for what is missing; the others begin with the
        first event that is heard of them."""
        self._url = url
        self._reachable = list(reachable)
        self._connection: psycopg.AsyncConnection | None = None
        self._made = False

    async def open(self) -> None:
        """Connect, and the first time bring the tables up to date. Raises SchemaError, too."""
        await self.close()
        if not self._made:
            await asyncio.to_thread(bring_up_to_date, self._url)
            self._made = True
        self._connection = await psycopg.AsyncConnection.connect(
            self._url, connect_timeout=5, keepalives_idle=5, tcp_user_timeout=10_000
        )

    async def put(self, events: Sequence[Collected]) -> int:
        """Keep those that are not there yet; how many stand under the place of another event,
        which happens when a bench was set back to an older state."""
        given = {name: [getattr(event, name) for event in events] for name in _COLUMNS}
        async with self._open.transaction():
            await self._open.execute(_BENCHES, {**given, "reachable": self._reachable})
            await self._open.execute(_LOCK, given)
            await self._open.execute(_EVENTS, given)
            clashes = await (await self._open.execute(_CLASHES, given)).fetchone()
            await self._open.execute(_ADVANCE, given)
        return 0 if clashes is None else int(clashes[0])

    async def whole(self, source: str, cursor: int) -> None:
        """The bench itself said that nothing before `cursor` is missing here any more."""
        async with self._open.transaction():
            await self._open.execute(_KNOWN, (source,))
            await self._open.execute(
                "UPDATE benches SET whole_to = greatest(whole_to, %s), "
                "last_seen = greatest(last_seen, %s) WHERE source = %s",
                (cursor, cursor, source),
            )
            await self._open.execute(_ADVANCE, {"source": [source]})

    async def state(self, source: str, state: str, last_seen: int) -> None:
        """How a bench stands, and up to where it says that it wrote."""
        async with self._open.transaction():
            if source in self._reachable:
                await self._open.execute(_KNOWN, (source,))
            await self._open.execute(
                "UPDATE benches SET state = %s, state_at = now(), "
                "last_seen = greatest(last_seen, %s) WHERE source = %s",
                (state, last_seen, source),
            )

    async def reached(self) -> Mapping[str, tuple[int, int]]:
        """Of each bench: up to where it is whole here, and the last that was seen of it."""
        async with self._open.transaction():
            rows = await self._open.execute("SELECT source, whole_to, last_seen FROM benches")
            return {row[0]: (row[1], row[2]) for row in await rows.fetchall()}

    async def close(self) -> None:
        """Let it go."""
        connection, self._connection = self._connection, None
        if connection is not None:
            await connection.close()

    @property
    def _open(self) -> psycopg.AsyncConnection:
        if self._connection is None or self._connection.closed:
            raise psycopg.OperationalError("not connected")
        return self._connection
