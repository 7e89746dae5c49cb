"""The loop that carries a reading: gauge → bench → journal → tell, in that order.

One consumer takes everything in the order it came, readings and commands alike, so the bench
needs no lock. The journal writes on one thread of its own; nobody is told of an entry before it
is on disk. What could not be written (a full disk) is held and tried again; until then no new
value is taken, and whoever asks is told why.
"""

import asyncio
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TypeVar

import structlog

from daq.bench import Bench, BenchProgress, Change, OpenJob, Press
from daq.bench.drafts import broken_draft, up_draft
from daq.head.errors import RefusedError
from daq.head.record import Draft, Entry, Record, target_of
from daq.records.errors import RecordError
from daq.records.journal import Journal
from daq.records.rows import Receipt
from drivers.gauge import Gauge
from drivers.reading import Reading

T = TypeVar("T")

# Batches waiting for the bench. Past it the gauges wait, and then their links drop the oldest
# bytes and say so; 1024 batches are ten seconds of one gauge at 100 readings a second.
INBOX_MAX = 1024
TICK_S = 0.1
RETRY_S = 1.0
JOBS_LOOKED_AT = 20  # for the one that was on the bench when the service stopped

_log = structlog.get_logger(__name__)


@dataclass(slots=True)
class _Asked:
    change: Change
    receipt: Receipt | None
    answer: asyncio.Future[tuple[Entry, ...]]


class _Tick:
    """Time passed; it queues like everything else."""


class Run:
    """A bench at work. now_s: the steady clock that the gauges stamp their readings with."""

    def __init__(
        self, bench: Bench, gauges: Sequence[Gauge], journal: Journal, now_s: Callable[[], float]
    ) -> None:
        self.gauges = gauges
        self.trouble = ""
        self._bench = bench
        self._journal = journal
        self._now_s = now_s
        self._inbox: asyncio.Queue[tuple[str, list[Reading]] | _Asked | _Tick] = asyncio.Queue(
            INBOX_MAX
        )
        self._writer = ThreadPoolExecutor(max_workers=1, thread_name_prefix="journal")
        self._listeners: list[Callable[[Entry], None]] = []
        self._unwritten: list[Draft] = []
        self._retry_at_s = 0.0
        self._ticked_s = now_s()

    async def run(self) -> None:
        """Carry readings and commands until cancelled; the gauges are let go on the way out."""
        await self._resume()
        feeding = [asyncio.create_task(self._listen(gauge)) for gauge in self.gauges]
        feeding.append(asyncio.create_task(self._tick_away()))
        try:
            while True:
                await self._take(await self._inbox.get())
                self._inbox.task_done()
        finally:
            for task in feeding:
                task.cancel()
            await asyncio.gather(*feeding, return_exceptions=True)
            self._writer.shutdown()

    async def ask(self, change: Change, receipt: Receipt | None = None) -> tuple[Entry, ...]:
        """Let a command enter the bench, and wait until what it writes is on disk.

        Raises RefusedError (and its kinds) when it cannot be done, RecordError when it could not
        be written; in both cases nothing has changed.
        """
        answer: asyncio.Future[tuple[Entry, ...]] = asyncio.get_running_loop().create_future()
        await self._inbox.put(_Asked(change, receipt, answer))
        return await answer

    async def read(self, question: Callable[[Journal], T]) -> T:
        """Put a question to the journal, on the thread that it lives on."""
        loop = asyncio.get_running_loop()
        return await loop.run_in_executor(self._writer, question, self._journal)

    def listen(self, tell: Callable[[Entry], None]) -> Callable[[], None]:
        """Have `tell` called with every entry once it is on disk; returns the way to stop."""
        self._listeners.append(tell)
        return lambda: self._listeners.remove(tell)

    def progress(self) -> BenchProgress:
        """One look at the bench, at the asker's own pace."""
        return self._bench.progress()

    async def settled(self) -> None:
        """Wait until everything that came in so far was taken by the bench."""
        await self._inbox.join()

    # Inside

    async def _listen(self, gauge: Gauge) -> None:
        async for batch in gauge.batches():
            await self._inbox.put((gauge.spec.name, batch))

    async def _tick_away(self) -> None:
        while True:
            await asyncio.sleep(TICK_S)
            await self._inbox.put(_Tick())

    async def _take(self, item: tuple[str, list[Reading]] | _Asked | _Tick) -> None:
        if isinstance(item, _Asked):
            await self._answer(item)
            return
        if self._unwritten:
            await self._retry()
        elif not isinstance(item, _Tick):
            await self._write(self._bench.feed(*item))
        now_s = self._now_s()
        if now_s - self._ticked_s >= TICK_S and not self._unwritten:
            self._ticked_s = now_s
            await self._write(self._bench.tick(now_s))

    async def _answer(self, asked: _Asked) -> None:
        try:
            if self._unwritten:
                await self._retry(at_once=True)
            record = await self._record_for(asked.change)
            drafts = self._bench.change(asked.change, record)
            entries = await self._append(drafts, asked.receipt, record)
        except (RefusedError, RecordError) as error:
            if not asked.answer.cancelled():
                asked.answer.set_exception(error)
        else:
            if not asked.answer.cancelled():
                asked.answer.set_result(entries)

    async def _record_for(self, change: Change) -> Record | None:
        if isinstance(change, OpenJob | Press):
            return None
        on_bench = self._bench.record
        if on_bench is not None and on_bench.job == change.job:
            return on_bench
        job = change.job
        return await self.read(lambda journal: journal.record(job))

    async def _write(self, drafts: list[Draft]) -> None:
        """Write what the bench found; hold it and say so when it cannot be written now."""
        if not drafts:
            return
        try:
            await self._append(drafts)
        except RecordError as error:
            self._unwritten = drafts
            self._retry_at_s = asyncio.get_running_loop().time() + RETRY_S
            self.trouble = str(error)
            _log.error("not written, held and tried again", reason=str(error))

    async def _retry(self, *, at_once: bool = False) -> None:
        """Try again what is held. With at_once, raises RecordError when it still cannot be."""
        if not at_once and asyncio.get_running_loop().time() < self._retry_at_s:
            return
        drafts, self._unwritten = self._unwritten, []
        await self._write(drafts)
        if self._unwritten and at_once:
            raise RecordError(self.trouble)

    async def _append(
        self,
        drafts: Sequence[Draft],
        receipt: Receipt | None = None,
        record: Record | None = None,
    ) -> tuple[Entry, ...]:
        if not drafts:
            return ()
        entries = await self.read(lambda journal: journal.append(drafts, receipt))
        self.trouble = ""
        self._bench.written(entries, record)
        for entry in entries:
            self._tell(entry)
        return entries

    def _tell(self, entry: Entry) -> None:
        for tell in list(self._listeners):
            try:
                tell(entry)
            except Exception:  # noqa: BLE001 - a listener's fault must not stop the bench
                _log.exception("a listener failed", entry=entry.id)

    async def _resume(self) -> None:
        """Take up the job that was on the bench when the service stopped, and say what broke."""
        record = await self.read(_last_on_bench)
        if record is None:
            return
        self._bench.take_over(record)
        broken = record.open_capture()
        if broken is not None:
            target = target_of(broken.body)
            reason = "the service stopped in the middle of this capture; it starts again"
            await self._write(
                [broken_draft(record.job, target, reason), up_draft(record.job, target)]
            )


def _last_on_bench(journal: Journal) -> Record | None:
    """The newest job with a capture left open, else the newest one that is not closed."""
    records = [journal.record(row.id) for row in journal.jobs(limit=JOBS_LOOKED_AT)]
    unsigned = [record for record in records if not record.is_signed]
    broken = [record for record in unsigned if record.open_capture() is not None]
    return next(iter(broken), None) or next(iter(unsigned), None)
