"""The pretend person: looks at the bench a few times a second and does what it says.

Puts a valve in and turns it until a value stands, lifts it out when told to, reads the ring before
the first bore and after the last, sets the bridge on the face and then on the valve, keys in what
has no wire, answers the looks, and assembles nothing that is not in order. Knows the parts,
because it holds them; the bench does not.
"""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from api.demo.acts import BORE_ZERO_MM, TURNED, act
from api.demo.gauges import RING, Pretend
from api.demo.parts import Part
from api.demo.read_by_eye import Sizes, is_read, read_off
from daq.bench import (
    Answer,
    BenchProgress,
    KeyIn,
    Phase,
    Press,
    PutUp,
    Skip,
    TakeAgain,
    Temperature,
    Zero,
)
from daq.capture.base import Hint
from daq.head.characteristic import CATALOGUE, is_look
from daq.head.decide import Verdict
from daq.head.instrument import Instrument
from daq.head.keyed import Keyed
from daq.head.layout import HEAD
from daq.head.leaving_out import Which
from daq.head.measurement import Came
from daq.head.plan import Plan, Target
from daq.head.view import record_view
from daq.run import Run
from drivers.pretend.motion import HeldStill, Withdraw
from drivers.pretend.stage import Stage

LOOKS_EVERY_S = 0.2
STANDS_READY_S = 0.4  # the hand needs a moment between two acts
READS_S = 0.6  # to read a tool and key it in
PATIENCE_S = 120.0
TURN_PATIENCE_S = 40.0  # a turn that shows nothing in that time is begun anew
SURE_AFTER_LOOKS = 60  # twelve seconds of "it looks swayed"
ZERO_GAUGE, ZEROED = "bore gauge", "guide.diameter"
NAME = "pretend person"
NOT_ASSEMBLED = "not assembled yet: something here has to be done first"


@dataclass(frozen=True)
class Head:
    """What the person holds: the parts, and what is read off the head itself."""

    plan: Plan
    parts: dict[str, Part]
    face: Sizes


class Person:
    """Does the whole job. rng: chance of hands and gauges, handed in."""

    def __init__(
        self,
        run: Run,
        stage: Stage,
        pretend: dict[str, Pretend],
        head: Head,
        rng: np.random.Generator,
    ) -> None:
        self._run = run
        self._stage = stage
        self._pretend = pretend
        self._head = head
        self._rng = rng
        self._looked_over = ""  # the job whose decisions were read before assembling

    async def do_job(self, job: str, told: Callable[[BenchProgress], None]) -> None:
        """Until nothing of the job is left. told: what the person sees at every look."""
        await self._run.ask(Temperature(job, Decimal("20.6"), Decimal("20.4"), NAME))
        ring_reads = 0
        while True:
            seen = self._run.progress()
            told(seen)
            if seen.target is None or seen.job != job:
                return
            # Before the first bore and after the last, so that a drift between is seen.
            if (seen.target.characteristic == ZEROED) is (ring_reads % 2 == 0):
                await self._read_ring(job)
                ring_reads += 1
            await self._do(job, seen.target, told)

    async def _do(self, job: str, target: Target, told: Callable[[BenchProgress], None]) -> None:
        name = target.characteristic
        if is_look(name):
            await self._look(job, target)
        elif is_read(name):
            await self._key_in(job, target)
        else:
            await self._measure(job, target, told)

    async def _look(self, job: str, target: Target) -> None:
        """Everything the eye can see on this head is in order."""
        if CATALOGUE[target.characteristic].part == "assembly":
            if await self._goes_back_to_what_was_not_complete(job):
                return
            if self._looked_over != job:
                await self._leave_out_what_is_not_in_order(job)
                self._looked_over = job
                return
        await self._wait(READS_S)
        await self._run.ask(Answer(job, passed=True, person=NAME))

    async def _goes_back_to_what_was_not_complete(self, job: str) -> bool:
        """Nothing is assembled while something is still to be measured."""
        record = await self._run.read(lambda journal: journal.record(job))
        for each in record.remaining:
            if CATALOGUE[each.characteristic].part != "assembly":
                await self._run.ask(PutUp(job, each.characteristic, each.position, each.place))
                return True
        return False

    async def _leave_out_what_is_not_in_order(self, job: str) -> None:
        record = record_view(await self._run.read(lambda journal: journal.record(job)))
        wrong = {
            each.position
            for each in record.decisions
            if each.part != "assembly" and each.decision is not Verdict.ACCEPT
        }
        positions = self._head.plan.head.positions
        for position in positions if HEAD in wrong else sorted(wrong):
            which = Which(part="assembly", position=position)
            await self._run.ask(Skip(job, NOT_ASSEMBLED, NAME, which=which))

    async def _key_in(self, job: str, target: Target) -> None:
        """Read a tool without a wire, and key it in."""
        await self._wait(READS_S)
        whole = self._head
        sizes = whole.face if target.position == HEAD else whole.parts[target.position].by_eye
        true = sizes[target.characteristic, target.place]
        value, unit, tool = read_off(target, true, self._rng)
        gauge = Instrument(tool, serial="", resolution_mm=0.0)
        keyed = Keyed(target, value, unit, Came.KEYED, gauge, NAME)
        await self._run.ask(KeyIn(job, keyed))

    async def _measure(
        self, job: str, target: Target, told: Callable[[BenchProgress], None]
    ) -> None:
        """Measure what is up, and take it out, so that the next thing goes up."""
        pretend = self._gauge_for(target.characteristic)
        stage = -1
        patient_s = TURN_PATIENCE_S if target.characteristic in TURNED else PATIENCE_S
        give_up_s = self._stage.clock.now() + patient_s
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
                        part = self._head.parts[target.position]
                        pretend.speaker.play(
                            act(self._head.plan, target, stage, part, pretend, self._rng)
                        )
                case Phase.TAKE_OUT:
                    stage = -1
                    await self._withdraw(pretend)
                case _:
                    await self._run.ask(TakeAgain(job))
                    await self._withdraw(pretend)
                    stage = -1
            await self._wait(LOOKS_EVERY_S)
            if self._stage.clock.now() > give_up_s:
                # Nothing came of it: out with it, and once more from the start.
                await self._run.ask(TakeAgain(job))
                await self._withdraw(pretend)
                stage, give_up_s = -1, self._stage.clock.now() + patient_s

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


def _looks_swayed(seen: BenchProgress) -> bool:
    return seen.capture is not None and seen.capture.hint is Hint.ONE_WAY
