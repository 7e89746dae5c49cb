"""A command sent twice is done once: the Idempotency-Key, kept in the transaction it guards."""

import hashlib
from collections.abc import Awaitable, Callable
from typing import Annotated

from fastapi import Depends, Header, Request

from api.service import Service, service_of
from daq.bench import Change
from daq.head.errors import RefusedError
from daq.head.record import Entry
from daq.records.errors import KeyUsedError
from daq.records.journal import Journal
from daq.records.rows import Receipt

Key = Annotated[
    str | None,
    Header(
        alias="Idempotency-Key",
        min_length=1,
        max_length=255,
        description="The same key with the same body is done once and answered the same again.",
    ),
]


class Once:
    """One request that writes. key None: the sender did not care."""

    def __init__(self, service: Service, key: str | None, body_hash: str) -> None:
        self._run = service.run
        self._key = key
        self._body_hash = body_hash

    async def entries(self, make: Callable[[], Awaitable[Change]]) -> tuple[Entry, ...]:
        """The entries that this request wrote, now or the time before.

        make: the command; only asked for when it was not done before. Raises what it raises and
        what `Run.ask` raises, and RefusedError for a key that stood over another body.
        """
        earlier = await self._earlier()
        if earlier is not None:
            return earlier
        change = await make()
        receipt = None if self._key is None else Receipt(self._key, self._body_hash, 200)
        try:
            return await self._run.ask(change, receipt)
        except KeyUsedError:
            earlier = await self._earlier()
            if earlier is None:
                raise
            return earlier

    async def _earlier(self) -> tuple[Entry, ...] | None:
        key = self._key
        if key is None:
            return None
        found = await self._run.read(lambda journal: _under(journal, key))
        if found is None:
            return None
        receipt, entries = found
        if receipt.body_hash != self._body_hash:
            raise RefusedError(
                f"the Idempotency-Key {key[:40]!r} was used for another request; "
                "a new request needs a new key"
            )
        return entries


async def once(
    request: Request, service: Annotated[Service, Depends(service_of)], key: Key = None
) -> Once:
    """The request at hand, as a dependency."""
    where = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    asked = hashlib.sha256(f"{request.method} {where}\n".encode())
    asked.update(await request.body())
    return Once(service, key, asked.hexdigest())


def _under(journal: Journal, key: str) -> tuple[Receipt, tuple[Entry, ...]] | None:
    receipt = journal.receipt(key)
    if receipt is None:
        return None
    written = set(receipt.entries)
    record = journal.record(receipt.job) if receipt.job else None
    entries = () if record is None else record.entries
    return receipt, tuple(entry for entry in entries if entry.id in written)
