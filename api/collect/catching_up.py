"""Asking a bench for what is missing: `GET /events?after=`, which loses nothing."""

import asyncio
from collections.abc import Callable

import httpx
import psycopg
import structlog

from api.collect.benches import Asked
from api.collect.event import EventError, event_of
from api.collect.store import Store
from api.push.gaps import Gaps

TIMEOUT_S = 20.0
PAGE = 1000
# A gap is given this long to close by itself: messages overtake each other.
GRACE_S = 1.0
# And a bench of which nothing is heard is asked all the same, in case the broker lost the end.
ASK_S = 60.0

_log = structlog.get_logger(__name__)


class CatchingUp:
    """Asks one bench. now_s: a steady clock. trouble: what is wrong now, or ""."""

    def __init__(self, bench: Asked, store: Store, gaps: Gaps, now_s: Callable[[], float]) -> None:
        self.bench = bench
        self.trouble = ""
        self.fetched = 0
        self._store = store
        self._gaps = gaps
        self._now_s = now_s
        self._client = httpx.AsyncClient(timeout=TIMEOUT_S, follow_redirects=False, trust_env=False)
        self._asked_s = -ASK_S
        self._open_since_s: float | None = None
        self._tries = 0
        self._not_before_s = 0.0

    async def look(self, whole_to: int, last_seen: int, lock: asyncio.Lock) -> None:
        """Ask if there is a gap, or nothing was heard for long. lock: of the store."""
        now_s = self._now_s()
        if whole_to >= last_seen:
            self._open_since_s = None
        elif self._open_since_s is None:
            self._open_since_s = now_s
        gap_is_old = self._open_since_s is not None and now_s - self._open_since_s >= GRACE_S
        is_due = gap_is_old or now_s - self._asked_s >= ASK_S
        if not is_due or now_s < self._not_before_s:
            return
        try:
            await self._fetch(whole_to, lock)
        except psycopg.Error:
            raise
        except (httpx.HTTPError, EventError, ValueError, KeyError, TypeError) as error:
            self._tries += 1
            self._not_before_s = self._now_s() + self._gaps.after(self._tries)
            said = f"{self.bench.source} cannot be asked ({type(error).__name__}: {error})"
            if said != self.trouble:
                _log.warning("bench not asked", bench=self.bench.source, why=said)
            self.trouble = said
        else:
            self._tries, self.trouble = 0, ""
            self._asked_s = self._now_s()

    async def _fetch(self, after: int, lock: asyncio.Lock) -> None:
        headers = (
            {} if self.bench.token is None else {"authorization": f"Bearer {self.bench.token}"}
        )
        while True:
            answer = await self._client.get(
                f"{self.bench.url}/api/v1/events",
                params={"after": after, "limit": PAGE},
                headers=headers,
            )
            answer.raise_for_status()
            said = answer.json()
            events = [event_of(event) for event in said["events"]]
            if any(event.source != self.bench.source for event in events):
                raise EventError("it tells of another bench: look at the names in the list")
            upto = int(said["next"])
            async with lock:
                if events:
                    await self._store.put(events)
                await self._store.whole(self.bench.source, upto)
            self.fetched += len(events)
            if not events or upto <= after:
                return
            after = upto

    async def close(self) -> None:
        """Let the connection go."""
        await self._client.aclose()
