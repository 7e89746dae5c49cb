"""A bench with its record kept in memory; what is drafted counts as written at once."""

from datetime import UTC, datetime
from decimal import Decimal
from itertools import count

from daq.bench import Bench, KeyIn, OpenJob
from daq.bench.bench import Fixture
from daq.head.changes import Opening
from daq.head.keyed import Keyed
from daq.head.measurement import Came
from daq.head.plan import Target, shipped_plans
from daq.head.record import GENESIS_HASH, Record, sealed
from daq.head.view import record_view
from drivers.reading import Reading, Unit, on_time_grid


class Desk:
    """Asks the bench and writes what it drafts. plan: a shipped one by name, or a plan."""

    def __init__(self, instruments=(), rings=(), plan="four-by-two"):
        ids = (f"id-{n}" for n in count(1))
        self.next_id = lambda: next(ids)
        fixture = Fixture(one_way=True, v_angle_deg=90.0, rings=tuple(rings))
        self.bench = Bench(instruments, fixture, self.next_id)
        self.plan = shipped_plans()[plan] if isinstance(plan, str) else plan
        self.records = {}
        self.t_s = 0.0

    def write(self, drafts, record=None):
        entries = []
        for draft in drafts:
            before = self.records.get(draft.job)
            entry = sealed(
                draft,
                number=1 if before is None else len(before.entries) + 1,
                entry_id=self.next_id(),
                at=datetime(2026, 1, 1, tzinfo=UTC).isoformat(),
                previous=GENESIS_HASH if before is None else before.entries[-1].hash,
            )
            self.records[draft.job] = (
                Record((entry,)) if before is None else before.followed_by(entry)
            )
            entries.append(entry)
        self.bench.written(entries, record)
        return entries

    def ask(self, change):
        job = getattr(change, "job", None)
        record = self.records.get(job)
        return self.write(self.bench.change(change, record), record)

    def open(self, number="J-1"):
        return self.ask(OpenJob(Opening(number, self.plan)))[0].job

    def key(self, job, name, position, value, place=None, unit="mm", **more):
        """Key a value in, as a person does; returns the measurement as the record shows it."""
        target = Target(name, position, place)
        keyed = Keyed(target, Decimal(str(value)), unit, more.pop("came", Came.KEYED), **more)
        entry = self.ask(KeyIn(job, keyed))[0]
        return next(m for m in self.measurements(job) if m.id == entry.id)

    def play(self, gauge, heights, rate_hz=50.0):
        """Feed heights one by one, as a gauge sends them; returns what was written."""
        entries = []
        for height in heights:
            self.t_s += 1 / rate_hz
            value = round(round(height * 1000) / 1000, 6)
            reading = Reading(gauge, "", on_time_grid(self.t_s), value, Unit.MM)
            entries += self.write(self.bench.feed(gauge, [reading]))
        return entries

    def measurements(self, job):
        return self.view(job).measurements

    def view(self, job):
        return record_view(self.records[job])
