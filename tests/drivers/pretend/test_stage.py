"""Pretend gauges on real pseudo ports under the jumping clock: order, times, and the real clock."""

import asyncio
import time

import numpy as np
import pytest

from drivers.gauge import QUIET_S, Gauge, GaugeSpec, GaugeState
from drivers.pretend.gauge import Habits, PretendGauge
from drivers.pretend.hand import HandStyle
from drivers.pretend.motion import HeldStill, Withdraw
from drivers.pretend.port import PretendPort
from drivers.pretend.stage import JumpingClock, Stage, SteadyClock
from drivers.pretend.valve import Shape, SpunValve, invented_section
from drivers.pretend.voice import Voice
from drivers.profile import load_profile

PROFILE = load_profile("plain-line")


class Bench:
    """Three pretend gauges and what was heard of them, in the order it was dealt with."""

    def __init__(self, folder, clock, seed=1, settled=None) -> None:
        self.clock = clock
        self.rng = np.random.default_rng(seed)
        self.heard = []
        self.pairs = []
        for name, rate_hz, free_mm in (("dial", 100, -1.0), ("bore", 50, 0.6), ("mic", 10, 12.0)):
            habits = Habits(rate_hz, 0.0004, free_mm=free_mm)
            port = PretendPort(folder / name)
            pretend = PretendGauge(port, Voice(PROFILE, "0.001"), habits, self.rng, clock.now)
            self.pairs.append((pretend, Gauge(GaugeSpec(name, str(port.path), PROFILE), clock.now)))
        self.stage = Stage(clock, self.pairs, settled)
        self.dial, self.bore, self.mic = (pretend for pretend, _ in self.pairs)

    async def _listen(self, gauge) -> None:
        async for batch in gauge.batches():
            self.heard += batch

    async def __aenter__(self) -> "Bench":
        self.tasks = [asyncio.create_task(self._listen(gauge)) for _, gauge in self.pairs]
        await self.stage.opened()
        return self

    async def __aexit__(self, *_: object) -> None:
        for task in self.tasks:
            task.cancel()
        await asyncio.gather(*self.tasks, return_exceptions=True)
        for pretend, _ in self.pairs:
            pretend.port.unplug()

    def spin(self, seconds: float) -> SpunValve:
        section = invented_section(Shape.BENT, 0.04, self.rng)
        return SpunValve(section, HandStyle.FINGERS, self.rng, seconds=seconds)


async def test_every_reading_has_the_time_it_was_due_and_comes_in_order(tmp_path):
    async with Bench(tmp_path, JumpingClock()) as bench:
        bench.dial.play(bench.spin(5.0))
        due = []
        begin = time.monotonic()
        while bench.dial.playing:
            next_t_s = min(pretend.next_t_s for pretend, _ in bench.pairs)
            spoke = await bench.stage.step()
            assert bench.clock.now() == next_t_s
            due.append((next(g.spec.name for p, g in bench.pairs if p is spoke), next_t_s))
        assert time.monotonic() - begin < 4.0
        # The first line of a port that was not quiet before it may be half a line: it is dropped.
        first = {name: due.index(next(d for d in due if d[0] == name)) for name, _ in due}
        dropped = [i for i in first.values() if due[i][1] < QUIET_S]
        assert len(dropped) == 1
        expected = [d for i, d in enumerate(due) if i not in dropped]
        assert [(r.gauge, r.t_s) for r in bench.heard] == [
            (name, pytest.approx(t_s, abs=6e-5)) for name, t_s in expected
        ]
        assert {name for name, _ in due} == {"dial", "bore", "mic"}
        assert 480 < sum(r.gauge == "dial" for r in bench.heard) < 520
        assert all(pretend.port.unheard_bytes == 0 for pretend, _ in bench.pairs)


async def test_the_same_seed_is_heard_the_same(tmp_path):
    async def heard(folder, seed):
        folder.mkdir()
        async with Bench(folder, JumpingClock(), seed) as bench:
            bench.mic.play(HeldStill(6.98, bench.rng))
            await bench.stage.run_while(lambda: bench.mic.playing)
            return bench.heard

    first = await heard(tmp_path / "a", 5)
    assert len(first) > 60
    assert await heard(tmp_path / "b", 5) == first
    assert await heard(tmp_path / "c", 6) != first


async def test_a_gauge_stays_where_a_motion_ended_and_slows_down(tmp_path):
    async with Bench(tmp_path, JumpingClock()) as bench:
        bench.mic.play(HeldStill(6.98, bench.rng, hold_s=2.0))
        await bench.stage.run_while(lambda: bench.mic.playing)
        begin = bench.clock.now()
        await bench.stage.run_while(lambda: bench.clock.now() < begin + 5)
        rest = [r for r in bench.heard if r.gauge == "mic" and r.t_s > begin]
        assert 7 <= len(rest) <= 13
        assert all(abs(r.value - 6.98) < 0.003 for r in rest)
        bench.mic.play(Withdraw(12.0, bench.rng))
        heard = len(bench.heard)
        await bench.stage.run_while(lambda: bench.mic.playing)
        opening = [r.value for r in bench.heard[heard:] if r.gauge == "mic"]
        assert 6.9 < opening[0] < 11.0
        assert opening[-1] == pytest.approx(12.0, abs=0.003)


async def test_a_motion_is_broken_off_by_the_next(tmp_path):
    async with Bench(tmp_path, JumpingClock()) as bench:
        bench.dial.play(bench.spin(60.0))
        await bench.stage.run_while(lambda: bench.clock.now() < 6.0)
        before = [r.value for r in bench.heard if r.gauge == "dial"][-1]
        bench.dial.play(Withdraw(-1.0, bench.rng))
        await bench.stage.run_while(lambda: bench.dial.playing)
        lifted = [r for r in bench.heard if r.gauge == "dial" and r.t_s > 6.0]
        assert lifted[0].value == pytest.approx(before, abs=0.05)
        assert lifted[-1].value == pytest.approx(-1.0, abs=0.003)
        assert bench.clock.now() < 7.5


async def test_settled_is_awaited_after_every_reading(tmp_path):
    seen = []

    async def settled() -> None:
        seen.append(len(bench.heard))

    bench = Bench(tmp_path, JumpingClock(), settled=settled)
    async with bench:
        for _ in range(20):
            await bench.stage.step()
    assert len(seen) == 20
    assert seen == sorted(seen)
    assert seen[-1] == len(bench.heard) >= 17


async def test_unplugging_on_stage_stops_nothing_and_is_seen(tmp_path, until):
    async with Bench(tmp_path, JumpingClock()) as bench:
        bench.dial.play(bench.spin(60.0))
        for _ in range(200):
            await bench.stage.step()
        bench.dial.port.unplug()
        for _ in range(200):
            await bench.stage.step()
        dial = bench.pairs[0][1]
        await until(lambda: dial.state is GaugeState.GONE)
        heard = len(bench.heard)
        bench.dial.port.plug()
        await bench.stage.opened()
        for _ in range(200):
            await bench.stage.step()
        assert len(bench.heard) > heard + 150
        assert dial.link.reconnects == 1
        times = [r.t_s for r in bench.heard if r.gauge == "dial"]
        assert times == sorted(times)


async def test_the_same_stage_in_real_time(tmp_path):
    async with Bench(tmp_path, SteadyClock()) as bench:
        bench.dial.play(bench.spin(60.0))
        begin = time.monotonic()
        await bench.stage.run_while(lambda: time.monotonic() < begin + 0.4)
        times = [r.t_s for r in bench.heard if r.gauge == "dial"]
        assert 20 < len(times) < 45
        assert begin <= times[0] <= times[-1] <= time.monotonic()
