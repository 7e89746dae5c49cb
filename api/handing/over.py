"""Hands over: told that a job was closed, it writes the chosen exports into a folder.

Nothing waits for it. What it could not write (a full disk, a folder that is gone) it tries again,
and when the service starts it looks for closed jobs whose files are not there.
"""

import asyncio
from dataclasses import dataclass
from pathlib import Path

import structlog

from api.export import WRITERS, ExportError, file_stem
from api.export.given import QifCheck
from api.exporting import Whole, Wishes, whole, write_files
from api.handing.tables import ExportTable
from daq.head.record import Entry, EntryKind
from daq.head.view import RecordView
from daq.records.errors import RecordError
from daq.records.journal import Journal
from daq.run import Run

# Jobs closed and not handed over yet; a shop closes a handful a day.
WAITING_MAX = 256
LOOKED_BACK_JOBS = 100
RETRY_S = 30.0
ID_CHARS = 8

_log = structlog.get_logger(__name__)


@dataclass(frozen=True, slots=True)
class Folder:
    """Where to, and what."""

    path: Path
    formats: tuple[str, ...]
    wishes: Wishes


def folder_from(
    table: ExportTable | None, base: Path, qif_check: QifCheck | None = None
) -> Folder | None:
    """The folder that a config names, counted from `base`. qif_check: what QIF has to pass."""
    if table is None or table.folder is None:
        return None
    wishes = Wishes(table.paper, table.length, qif_check)
    return Folder(base / table.folder, tuple(dict.fromkeys(table.formats)), wishes)


class HandingOver:
    """Told entries; writes files. trouble: why the last could not be written, "" when all were."""

    def __init__(self, run: Run, folder: Folder, retry_s: float = RETRY_S) -> None:
        self.trouble = ""
        self._run = run
        self._folder = folder
        self._retry_s = retry_s
        self._closed: asyncio.Queue[str] = asyncio.Queue(WAITING_MAX)

    def troubles(self) -> list[str]:
        """What keeps files from being handed over, in sentences."""
        return [self.trouble] if self.trouble else []

    def tell(self, entry: Entry) -> None:
        """Of a closed job, remember to hand it over."""
        if entry.kind is not EntryKind.SIGNED:
            return
        try:
            self._closed.put_nowait(entry.job)
        except asyncio.QueueFull:
            self.trouble = "too many jobs wait to be handed over; start the service again for them"

    async def run(self) -> None:
        """Hand over until cancelled."""
        for job in await self._run.read(_closed_lately):
            await self._hand_over(job, again=False)
        while True:
            await self._hand_over(await self._closed.get(), again=True)

    async def _hand_over(self, job: str, *, again: bool) -> None:
        while True:
            try:
                found = await self._run.read(lambda journal: whole(journal, job, self._wishes))
                await asyncio.to_thread(written, self._folder, found, again=again)
            except (OSError, RecordError, ExportError) as error:
                self.trouble = f"the files of job {job} could not be handed over: {error}"
                _log.error("not handed over, tried again", job=job, reason=str(error))
                await asyncio.sleep(self._retry_s)
            else:
                self.trouble = ""
                return

    @property
    def _wishes(self) -> Wishes:
        return self._folder.wishes


def _closed_lately(journal: Journal) -> list[str]:
    rows = journal.jobs(limit=LOOKED_BACK_JOBS)
    return [row.id for row in reversed(rows) if journal.record(row.id).is_signed]


def written(folder: Folder, found: Whole, *, again: bool) -> list[Path]:
    """The files of a record in the folder; without `again`, those that are there are left.

    Each appears whole or not at all. Raises OSError, ExportError.
    """
    folder.path.mkdir(parents=True, exist_ok=True)
    files = []
    for name in folder.formats:
        writer = WRITERS[name]
        file = folder.path / f"{handed_stem(found.view)}{writer.suffix}"
        if again or not file.exists():
            files += write_files(writer, found, file)
    return files


def handed_stem(view: RecordView) -> str:
    """Two numbers may become one in a file's name, so a piece of the id goes with it."""
    return f"{file_stem(view)}.{view.job.id[:ID_CHARS]}"
