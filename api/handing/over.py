"""Hands over: told that a job was closed, it writes the chosen exports into a folder.

Nothing waits for it, and no job for another one: what could not be written (a full disk, a folder
that is gone, a document that would be wrong) is tried again, and the others are written meanwhile.
When the service starts it looks for closed jobs whose files are not there.
"""

import asyncio
import contextlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import structlog

from api.export import WRITERS, ExportError, stem_of
from api.export.given import QifCheck
from api.exporting import Whole, Wishes, files_of, whole, write_files
from api.handing.tables import ExportTable
from daq.head.record import Entry, EntryKind
from daq.records.rows import JobRow
from daq.run import Run

# A shop closes a handful of jobs a day.
LOOKED_BACK_JOBS = 100
FAULTS_SHOWN = 5
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
    """Told entries; writes files."""

    def __init__(self, run: Run, folder: Folder, retry_s: float = RETRY_S) -> None:
        self._run = run
        self._folder = folder
        self._retry_s = retry_s
        self._waiting: set[str] = set()
        self._faults: dict[str, str] = {}
        self._closed = asyncio.Event()

    def troubles(self) -> list[str]:
        """What keeps files from being handed over, in sentences."""
        faults = list(self._faults.items())
        said = [f"the files of job {job} could not be handed over: {why}" for job, why in faults]
        return [*said[:FAULTS_SHOWN], *(["and of more jobs"] if said[FAULTS_SHOWN:] else [])]

    def tell(self, entry: Entry) -> None:
        """Of a closed job, remember to hand it over."""
        if entry.kind is EntryKind.SIGNED:
            self._waiting.add(entry.job)
            self._closed.set()

    async def run(self) -> None:
        """Hand over until cancelled."""
        rows = await self._run.read(lambda journal: journal.jobs(limit=LOOKED_BACK_JOBS))
        self._waiting.update(await asyncio.to_thread(unwritten, self._folder, rows))
        while True:
            self._closed.clear()
            for job in sorted(self._waiting):
                await self._hand_over(job)
            with contextlib.suppress(TimeoutError):
                async with asyncio.timeout(self._retry_s if self._waiting else None):
                    await self._closed.wait()

    async def _hand_over(self, job: str) -> None:
        wishes = self._folder.wishes
        try:
            found = await self._run.read(lambda journal: whole(journal, job, wishes))
            await asyncio.to_thread(write, self._folder, found)
        except Exception as error:  # noqa: BLE001 - a fault of a writer must not end all handing over
            self._faults[job] = str(error)
            _log.error("not handed over, tried again", job=job, reason=str(error))
        else:
            self._faults.pop(job, None)
            self._waiting.discard(job)


def unwritten(folder: Folder, rows: Sequence[JobRow]) -> list[str]:
    """The ids of the closed jobs whose files are not all there."""
    return [
        row.id
        for row in rows
        if row.signed_at is not None
        and not all(
            file.exists()
            for name in folder.formats
            for file in files_of(WRITERS[name], _file(folder, name, row.number, row.id))
        )
    ]


def write(folder: Folder, found: Whole) -> None:
    """The files of a record in the folder, each whole or not at all.

    Those that can be written are, whatever is wrong with another. Raises ExportError, OSError.
    """
    folder.path.mkdir(parents=True, exist_ok=True)
    job = found.view.job
    faults: list[str] = []
    for name in folder.formats:
        try:
            write_files(WRITERS[name], found, _file(folder, name, job.number, job.id))
        except (OSError, ExportError) as error:
            faults.append(f"{name}: {error}")
    if faults:
        raise ExportError("; ".join(faults))


def _file(folder: Folder, name: str, number: str, job: str) -> Path:
    """Two numbers may become one in a file's name, so a piece of the id goes with it."""
    return folder.path / f"{stem_of(number, job)}.{job[:ID_CHARS]}{WRITERS[name].suffix}"
