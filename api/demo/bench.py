"""The demonstration's bench: the same parts as a real one, with pretend gauges plugged in."""

import asyncio
import uuid
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from api.demo.gauges import RING, Pretend, plugged_in
from api.demo.parts import Part, invented_face, invented_parts
from api.demo.person import Head, Person
from api.demo.read_by_eye import Sizes
from daq.bench import Bench
from daq.bench.bench import Fixture
from daq.head.plan import Plan, shipped_plans
from daq.records.journal import Journal
from daq.run import Run
from drivers.pretend.stage import Clock, Stage

PLAN = "four-by-two-whole"


@dataclass(frozen=True)
class DemoBench:
    """Everything that the demonstration runs on. working: the loop that carries the readings.
    parts, face: for tests; the product never looks."""

    run: Run
    working: "asyncio.Task[None]"
    journal: Journal
    stage: Stage
    person: Person
    plan: Plan
    parts: dict[str, Part]
    face: Sizes
    pretend: dict[str, Pretend]


@asynccontextmanager
async def demo_bench(data: Path, clock: Clock, seed: int) -> AsyncIterator[DemoBench]:
    """A bench at work on pretend gauges, until the block is left; records are kept in `data`."""
    rng = np.random.default_rng(seed)
    plan = shipped_plans()[PLAN]
    parts, face = invented_parts(plan, rng), invented_face(plan, rng)
    journal = Journal.open(data, now=lambda: datetime.now(UTC), new_id=lambda: str(uuid.uuid4()))
    with TemporaryDirectory(prefix="benchtally-") as ports:
        try:
            pretend = plugged_in(Path(ports), rng, clock.now)
            bench = Bench(
                [each.instrument for each in pretend.values()],
                Fixture(one_way=True, v_angle_deg=90.0, rings=(RING,)),
                lambda: str(uuid.uuid4()),
            )
            run = Run(bench, [each.listener for each in pretend.values()], journal, clock.now)
            pairs = [(each.speaker, each.listener) for each in pretend.values()]
            stage = Stage(clock, pairs, settled=run.settled)
            person = Person(run, stage, pretend, Head(plan, parts, face), rng)
            working = asyncio.create_task(run.run())
            try:
                await stage.opened()
                yield DemoBench(run, working, journal, stage, person, plan, parts, face, pretend)
            finally:
                working.cancel()
                await asyncio.gather(working, return_exceptions=True)
        finally:
            journal.close()
