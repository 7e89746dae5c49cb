"""The demonstration's job: opened, measured by the pretend person, read back."""

import tempfile
from collections.abc import Callable
from pathlib import Path

from api.demo.bench import DemoBench
from daq.bench import BenchProgress, OpenJob, PutUp
from daq.head.changes import Opening
from daq.head.view import RecordView, record_view

CUSTOMER = "invented customer"
COMPLAINT = "invented: burns oil, knocks when warm"
CYLINDER_ONE = "the end with the thermostat"


def folder_for(data: Path | None) -> Path:
    """Where the records go: the folder that was asked for, else a new one."""
    return data if data is not None else Path(tempfile.mkdtemp(prefix="benchtally-demo-"))


async def run_job(bench: DemoBench, seed: int, told: Callable[[BenchProgress], None]) -> RecordView:
    """Open a job of the invented head and have the pretend person do all of it."""
    job = await open_job(bench, seed)
    await bench.person.do_job(job, told)
    return record_view(await bench.run.read(lambda journal: journal.record(job)))


async def open_job(bench: DemoBench, seed: int) -> str:
    """The id of a new job; a number is never given twice, so a second run counts on."""
    taken = {row.number for row in await bench.run.read(lambda journal: journal.jobs(limit=1000))}
    number, again = f"DEMO-{seed}", 1
    while number in taken:
        again += 1
        number = f"DEMO-{seed}-{again}"
    opening = Opening(number, bench.plan, CUSTOMER, COMPLAINT, CYLINDER_ONE, "pretend person")
    job = (await bench.run.ask(OpenJob(opening)))[0].job
    if bench.run.progress().job != job:
        # A demonstration that was broken off left its job on the bench; this one takes its place.
        await bench.run.ask(PutUp(job, *bench.plan.targets[0]))
    return job
