"""The pretend person: looks at the bench a few times a second and does what it says.

Puts a valve in and turns it until a value stands, lifts it out when told to, reads the ring
before the first bore, sets the bridge on the face and then on the valve. Knows the parts, because
it holds them; the bench does not.
"""

from collections.abc import Callable

import numpy as np

from api.demo.gauges import RING, Pretend
from api.demo.parts import Part
from daq.bench import BenchProgress, Phase, Press, TakeAgain, Zero
from daq.capture.base import Hint
from daq.head.plan import Place, Target
from daq.run import Run
from drivers.pretend.bore import RockedBore
from drivers.pretend.hand import HandStyle
from drivers.pretend.motion import HeldStill, Motion, Withdraw
from drivers.pretend.stage import Stage
from drivers.pretend.valve import SpunValve

LOOKS_EVERY_S = 0.2
STANDS_READY_S = 0.4  # the hand needs a moment between two acts
PATIENCE_S = 120.0
SURE_AFTER_LOOKS = 60  # twelve seconds of "it looks swayed"
ZERO_GAUGE = "bore gauge"
# The invented bore gauge shows zero at this size; the ring is a little larger.
BORE_ZERO_MM = 7.0


class Person:
    """Does the whole job. rng: chance of hands and gauges, handed in."""

    def __init__(
        self,
        run: Run,
        stage: Stage,
        pretend: dict[str, Pretend],
        parts: dict[str, Part],
        rng: np.random.Generator,
    ) -> None:
        self._run = run
        self._stage = stage
        self._pretend = pretend
        self._parts = parts
        self._rng = rng

    async def do_job(self, job: str, told: Callable[[BenchProgress], None]) -> None:
        """Until nothing of the job is left. told: what the person sees at every look."""
        ring_read = False
        while True:
            seen = self._run.progress()
            told(seen)
            if seen.target is None or seen.job != job:
                return
            if seen.target.characteristic == "guide.diameter" and not ring_read:
                await self._read_ring(job)
                ring_read = True
            await self._measure(job, seen.target, told)

    async def _measure(
        self, job: str, target: Target, told: Callable[[BenchProgress], None]
    ) -> None:
        """Measure what is up, and take it out, so that the next thing goes up."""
        pretend = self._gauge_for(target.characteristic)
        stage = -1
        patience_s = self._stage.clock.now() + PATIENCE_S
        swayed_looks = 0
        while (seen := self._run.progress()).target == target:
            told(seen)
            match seen.phase:
                case Phase.CAPTURING if swayed_looks > SURE_AFTER_LOOKS and _looks_swayed(seen):
                    # It was turned one way, whatever it looks like: a press says so.
                    await self._run.ask(Press())
                    swayed_looks = 0
                case Phase.CAPTURING:
                    swayed_looks += _looks_swayed(seen)
                    if seen.stage != stage or not pretend.speaker.playing:
                        stage = seen.stage
                        await self._wait(STANDS_READY_S)
                        pretend.speaker.play(self._act(target, stage, pretend))
                case Phase.TAKE_OUT:
                    stage = -1
                    await self._withdraw(pretend)
                case _:
                    await self._run.ask(TakeAgain(job))
                    await self._withdraw(pretend)
                    stage = -1
            await self._wait(LOOKS_EVERY_S)
            if self._stage.clock.now() > patience_s:
                # Nothing came of it: out with it, and once more from the start.
                await self._run.ask(TakeAgain(job))
                await self._withdraw(pretend)
                stage, patience_s = -1, self._stage.clock.now() + PATIENCE_S

    def _act(self, target: Target, stage: int, pretend: Pretend) -> Motion:
        part, rng = self._parts[target.position], self._rng
        off_mm = self._gauge_error_mm(pretend)
        match target.characteristic:
            case "valve.stem_runout":
                return SpunValve(
                    part.section.scaled_to(max(part.section.runout_mm + off_mm, 0.002)),
                    HandStyle(rng.choice(list(HandStyle))),
                    rng,
                    level_mm=float(rng.uniform(-0.2, 0.2)),
                    lint=int(rng.integers(0, 3)),
                    drift_mm_per_min=float(rng.normal(0, 0.001)),
                )
            case "valve.stem_diameter":
                return HeldStill(part.stem_mm[_placed(target)] + off_mm, rng)
            case "guide.diameter":
                bore_mm = part.bore_mm[_placed(target)] + off_mm
                return RockedBore(bore_mm, BORE_ZERO_MM, rng, swings=40, lost=1)
            case _:
                return HeldStill(off_mm - (part.recess_mm if stage else 0.0), rng)

    async def _read_ring(self, job: str) -> None:
        """Hold the bore gauge in the ring at its least reading, and press."""
        pretend = self._pretend[ZERO_GAUGE]
        true_ring_mm = RING.size_mm + float(self._rng.normal(0, 0.0004))
        pretend.speaker.play(HeldStill(true_ring_mm - BORE_ZERO_MM, self._rng))
        await self._wait(4.0)
        await self._run.ask(Zero(job, ZERO_GAUGE, RING.name))
        await self._withdraw(pretend)

    async def _withdraw(self, pretend: Pretend) -> None:
        free_mm = pretend.speaker.habits.free_mm
        pretend.speaker.play(Withdraw(free_mm, self._rng))
        await self._stage.run_while(lambda: pretend.speaker.playing)
        # Still in the hand: the gauge is seen to hang free for a moment.
        pretend.speaker.play(HeldStill(free_mm, self._rng, hold_s=0.5))
        await self._stage.run_while(lambda: pretend.speaker.playing)

    async def _wait(self, seconds: float) -> None:
        until_s = self._stage.clock.now() + seconds
        await self._stage.run_while(lambda: self._stage.clock.now() < until_s)

    def _gauge_for(self, characteristic: str) -> Pretend:
        return next(
            each for each in self._pretend.values() if each.instrument.may_measure(characteristic)
        )

    def _gauge_error_mm(self, pretend: Pretend) -> float:
        """Another error every time the gauge is set down, as large as its limit allows for."""
        limit_mm = pretend.instrument.error_limit_mm or 0.0
        return float(self._rng.normal(0, limit_mm / 3**0.5))


def _looks_swayed(seen: BenchProgress) -> bool:
    return seen.capture is not None and seen.capture.hint is Hint.ONE_WAY


def _placed(target: Target) -> Place:
    if target.place is None:
        raise ValueError(f"{target.characteristic} has no place")
    return target.place
