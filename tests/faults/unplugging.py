"""The invented job measured while somebody keeps pulling the gauges' plugs.

Each gauge is known by the USB name of its adapter and comes back as another port. Every reading
that a gauge gives is held against the lines that were sent to it; every value of the record
against what the pretend part really is.
"""

import asyncio
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

import api.demo.gauges as demo_gauges
from api.demo.acts import act
from api.demo.bench import DemoBench, demo_bench
from api.demo.job import open_job
from daq.bench import Phase
from daq.capture.trace import Trace
from daq.head.plan import Target
from daq.head.record import EntryKind
from daq.head.view import record_view
from drivers.find import Adapters, Plugged
from drivers.gauge import Gauge
from drivers.pretend.stage import JumpingClock
from tests.api.demo_truth import CAPTURED_MM, truth_of

STEPS_BETWEEN_MOST = 2500  # readings of all gauges between two pulls: spread over a whole job
STEPS_AWAY_MOST = 40
BACK_S = 60.0  # on a machine that is busy


@dataclass
class Cable:
    """The adapter of one gauge: pulled, and plugged in again as another port."""

    name: str
    pretend: demo_gauges.Pretend
    usb: str
    sent: list[bytes] = field(default_factory=list)
    given: list[tuple[float, float]] = field(default_factory=list)  # time and value
    pulled_s: list[float] = field(default_factory=list)
    plugs: int = 0

    def listen_in(self) -> None:
        """Keep every whole line that went to a listener, and every value that came out."""
        port, gauge = self.pretend.speaker.port, self.pretend.listener
        self._raw = write = port.write
        take = gauge.take

        def sending(data: bytes) -> int:
            sent = write(data)
            if data.endswith(b"\n") and sent == len(data):
                self.sent.append(data)
            return sent

        def taking(utterance):
            segments = take(utterance)
            self.given += [(r.t_s, r.value) for segment in segments for r in segment]
            return segments

        port.write, gauge.take = sending, taking

    def pull(self, t_s: float, torn: bytes) -> None:
        """Pull the plug, in the middle of a line where `torn` holds its beginning."""
        port = self.pretend.speaker.port
        self.pulled_s.append(t_s)
        if torn:
            self._raw(torn)
        port.unplug()

    async def plug_in(self, rest: bytes) -> None:
        """Another port name; what comes first may be the rest of a line."""
        port, gauge = self.pretend.speaker.port, self.pretend.listener
        self.plugs += 1
        port.path = port.path.with_name(f"{self.usb.replace(':', '-')}-{self.plugs}")
        port.plug()
        async with asyncio.timeout(BACK_S):
            await gauge.link.opened()
        if rest:
            before = gauge.link.bytes_read
            sent = self._raw(rest)
            await gauge.link.drained(before + sent)

    def nothing_invented(self) -> None:
        """What was given is what was sent, in this order, some of it lost."""
        sent = iter(float(line) for line in self.sent)
        for _, value in self.given:
            assert any(value == each for each in sent), f"{self.name} never said {value}"


@dataclass
class Pulls:
    """What came of it. broken: captures that the record says were broken off. in_a_capture: pulls
    while the gauge in use was moved. kept: values of the record. traced: values whose trace was
    held against what the person did at that time. wrong: beyond twice their uncertainty. lines:
    that went to a listener. given: readings that came out of them."""

    count: int = 0
    in_a_capture: int = 0
    broken: int = 0
    kept: int = 0
    traced: int = 0
    lines: int = 0
    given: int = 0
    wrong: list[str] = field(default_factory=list)


def usb_gauges(monkeypatch, cables: dict[str, Cable]) -> None:
    """Have the demonstration's gauges found by the USB names of their adapters."""

    def plugged() -> list[Plugged]:
        ports = [(cable, cable.pretend.speaker.port) for cable in cables.values()]
        return [Plugged(str(p.path), c.usb, "invented") for c, p in ports if p.path.is_symlink()]

    adapters = Adapters(plugged)

    def gauge(spec, now) -> Gauge:
        usb = f"usb:1A86:7523:{spec.name.upper().replace(' ', '')}"
        return Gauge(replace(spec, port=usb), now, adapters.resolve)

    monkeypatch.setattr(demo_gauges, "Gauge", gauge)
    plugged_in = demo_gauges.plugged_in

    def with_cables(folder, rng, now):
        found = plugged_in(folder, rng, now)
        for name, pretend in found.items():
            cables[name] = Cable(name, pretend, pretend.listener.spec.port)
            cables[name].listen_in()
        return found

    monkeypatch.setattr("api.demo.bench.plugged_in", with_cables)


async def measured_while_pulled(
    monkeypatch,
    folder: Path,
    seed: int,
    pulls: int,
    keep_on: int | None = None,
    between: int = STEPS_BETWEEN_MOST,
) -> Pulls:
    """The job of this seed with so many pulls, to its end or to `keep_on` values after them."""
    chance = np.random.default_rng(seed)
    cables: dict[str, Cable] = {}
    usb_gauges(monkeypatch, cables)
    async with demo_bench(folder, JumpingClock(), seed) as bench:
        said = Pulls()
        puller = _Puller(bench, cables, chance, said, pulls, between)
        bench.stage.step = puller.step
        job = await open_job(bench, seed)
        puller.watch(monkeypatch)
        doing = asyncio.create_task(bench.person.do_job(job, puller.seen))
        if keep_on is not None:
            await puller.enough(keep_on, doing)
        else:
            await doing
        record = await bench.run.read(lambda journal: journal.record(job))
        said.broken = sum(
            e.kind is EntryKind.BROKEN and "broke off in the middle" in e.body["reason"]
            for e in record.entries
        )
        for m in record_view(record).measurements:
            if m.trace_sha256:
                packed = await bench.run.read(lambda journal, m=m: journal.trace(m.trace_sha256))
                puller.belongs(m, Trace.unpack(packed).readings())
            if m.status == "VOID" or not m.complete or m.characteristic not in CAPTURED_MM:
                continue
            said.kept += 1
            truth = truth_of(bench.parts[m.position], m.characteristic, m.place)
            if abs(float(m.value) - truth) > 2 * float(m.uncertainty):
                said.wrong.append(f"{m.position} {m.characteristic} {m.value} is {truth:.4f}")
                said.wrong.append(str([e.body for e in record.entries if e.id == m.id]))
        for cable in cables.values():
            cable.nothing_invented()
            said.lines += len(cable.sent)
            said.given += len(cable.given)
        return said


class _Puller:
    """Steps the stage and pulls now and then, mostly the gauge in use."""

    def __init__(
        self,
        bench: DemoBench,
        cables: dict[str, Cable],
        chance: np.random.Generator,
        said: Pulls,
        most: int,
        between: int,
    ) -> None:
        self._bench, self._cables, self._chance = bench, cables, chance
        self._said, self._most, self._between = said, most, between
        self._step = bench.stage.step
        self._wait = int(chance.integers(1, self._between))
        self._remaining = 0
        self._acts: list[tuple[float, str, Target]] = []
        self._done = asyncio.Event()
        self._keep_on = 0
        self._stop_at: int | None = None

    def seen(self, progress) -> None:
        self._remaining = progress.remaining
        if self._stop_at is not None and progress.remaining <= self._stop_at:
            self._done.set()

    async def enough(self, keep_on: int, doing: "asyncio.Task[None]") -> None:
        """Wait for all pulls and so many values more."""
        self._keep_on = keep_on
        waiting = asyncio.create_task(self._done.wait())
        await asyncio.wait({waiting, doing}, return_when=asyncio.FIRST_COMPLETED)
        for task in (waiting, doing):
            task.cancel()
        await asyncio.gather(waiting, doing, return_exceptions=True)

    def watch(self, monkeypatch) -> None:
        """Note what the person does with which part, and when."""

        def acting(plan, target, stage, part, pretend, rng):
            self._acts.append((self._bench.stage.clock.now(), pretend.instrument.name, target))
            return act(plan, target, stage, part, pretend, rng)

        monkeypatch.setattr("api.demo.person.act", acting)

    def belongs(self, measurement, readings) -> None:
        """The trace of a value: its own gauge, in one piece, while its own part was in it."""
        first_s, last_s = readings[0].t_s, readings[-1].t_s
        cable = self._cables[measurement.gauge]
        assert {(r.t_s, r.value) for r in readings} <= set(cable.given)
        assert not [t_s for t_s in cable.pulled_s if first_s <= t_s < last_s]
        acts = [(t_s, each) for t_s, name, each in self._acts if name == measurement.gauge]
        here = [each for t_s, each in acts if first_s < t_s <= last_s]
        before = [each for t_s, each in acts if t_s <= last_s][-1:]
        for each in (*here, *before):
            assert each.characteristic == measurement.characteristic
            assert (each.position, each.place) == (measurement.position, measurement.place)
        self._said.traced += 1

    async def step(self):
        if self._said.count < self._most:
            self._wait -= 1
            if self._wait <= 0:
                await self._pull()
                self._wait = int(self._chance.integers(1, self._between))
        elif self._stop_at is None:
            self._stop_at = self._remaining - self._keep_on
        return await self._step()

    async def _pull(self) -> None:
        progress = self._bench.run.progress()
        names = list(self._cables)
        in_use = progress.gauge if progress.gauge in names and self._chance.random() < 0.8 else ""
        cable = self._cables[in_use or names[self._chance.integers(len(names))]]
        capturing = progress.phase is Phase.CAPTURING and cable.name == progress.gauge
        self._said.count += 1
        self._said.in_a_capture += capturing and cable.pretend.speaker.playing
        torn, rest = (b"+00", b"1.500\r\n") if self._chance.random() < 0.5 else (b"", b"")
        cable.pull(self._bench.stage.clock.now(), torn)
        for _ in range(self._chance.integers(1, STEPS_AWAY_MOST)):
            await self._step()
        await cable.plug_in(rest)
