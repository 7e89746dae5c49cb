"""The whole job as fast as it can: same ports, same loop, same journal, a clock that jumps."""

import asyncio
from collections.abc import Callable, Iterator
from pathlib import Path

from api.demo.bench import demo_bench
from api.demo.job import folder_for, run_job
from api.export import WRITERS, ExportError, file_stem
from api.exporting import Wishes, whole, write_files
from api.logs import log_to_stderr
from api.tables import decisions_table, work_table
from api.waiting import share_of
from daq.bench import BenchProgress
from daq.head.errors import RefusedError
from daq.head.view import RecordView
from daq.head.work_list import work_list
from daq.records.records import Records
from drivers.pretend.stage import JumpingClock


def play_headless(data: Path | None, seed: int, say: Callable[[str], None]) -> None:
    """Measure, write every export under `data`, and print a summary.

    Raises RecordError, OSError, and RefusedError when something was left unmeasured.
    """
    log_to_stderr()
    folder = folder_for(data)
    with share_of("measuring the invented head") as show:
        record = asyncio.run(_measure(folder, seed, show))
    work = work_list(record)
    decisions_table(record)
    work_table(work)
    if record.remaining:
        raise RefusedError(f"{record.remaining} values of the invented job were not measured")
    listed = folder / f"{file_stem(record)}-work.json"
    listed.write_text(work.model_dump_json(indent=2), encoding="utf-8")
    say(f"wrote {listed}")
    for file in _export(record.job.id, folder, say):
        say(f"wrote {file}")


async def _measure(folder: Path, seed: int, show: Callable[[float], None]) -> RecordView:
    async with demo_bench(folder, JumpingClock(), seed) as bench:
        whole = len(bench.plan.targets)

        def told(seen: BenchProgress) -> None:
            show(1 - seen.remaining / whole)

        return await run_job(bench, seed, told)


def _export(job: str, folder: Path, say: Callable[[str], None]) -> Iterator[Path]:
    """Every format. One whose library is not installed is passed over with a sentence."""
    with Records.open_to_read(folder) as records:
        found = whole(records, job, Wishes())
    for writer in WRITERS.values():
        file = folder / f"{file_stem(found.view)}{writer.suffix}"
        try:
            yield from write_files(writer, found, file)
        except ExportError as error:
            say(str(error))
