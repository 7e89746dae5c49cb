"""A program of its own: the headless invented job, announcing every entry to whoever reads it.

`python measuring.py FOLDER SEED` writes one line an entry, told only after the journal wrote it.
"""

import asyncio
import sys
from pathlib import Path

from api.demo.bench import demo_bench
from api.demo.job import run_job
from drivers.pretend.stage import JumpingClock


def announce(entry) -> None:
    sys.stdout.write(f"{entry.kind} {entry.id}\n")
    sys.stdout.flush()


async def main(folder: Path, seed: int) -> None:
    async with demo_bench(folder, JumpingClock(), seed) as bench:
        bench.run.listen(announce)
        await run_job(bench, seed, lambda seen: None)


asyncio.run(main(Path(sys.argv[1]), int(sys.argv[2])))
