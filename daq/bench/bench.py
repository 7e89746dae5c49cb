"""The state machine of the bench.

Readings and people's commands enter alike; what is to be written leaves as drafts, and the bench
moves on only when told that they were written (`written`), so that what it shows is never ahead
of the disk.

No value lands on the wrong part: after a value was taken the readings belong to nobody until the
part was seen to leave or somebody pressed, and a press is not believed while the part still moves.
"""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass

from daq.bench import commands
from daq.bench.asked import Change, OpenJob, Press, PutUp, TakeAgain
from daq.bench.drafts import broken_draft, up_draft
from daq.bench.shown import BenchProgress, Phase
from daq.bench.taken import Taken
from daq.bench.unit import in_its_unit
from daq.bench.value import kept_draft, question_about
from daq.capture.attempt import Aim, Attempt
from daq.capture.base import Captured, Hint, Kind, Progress, Setup
from daq.capture.presence import Stream, same_band
from daq.head.caution import cautions_for
from daq.head.characteristic import characteristic
from daq.head.instrument import Instrument, Ring
from daq.head.plan import Target
from daq.head.record import Draft, Entry, EntryKind, Record, target_of
from daq.head.zeroes import zeroes_of
from drivers.reading import Reading

COMING_SHOWN = 5


@dataclass(frozen=True, slots=True)
class Fixture:
    """What the bench is set up with, besides its gauges. one_way: the person's standing word."""

    one_way: bool = True
    v_angle_deg: float | None = None
    rings: tuple[Ring, ...] = ()


# What a turn cannot tell by itself; kept by a person's press, and then said so.
_BY_WORD = {
    Hint.ONE_WAY: "it looks swayed, not turned one way",
    Hint.HARDLY: "it moved no more than a part that lies still may; turned by who pressed",
}


class Bench:
    """One bench: at most one job and one characteristic are up at a time.

    instruments: every gauge it may listen to. new_id: gives the id of a new job.
    """

    def __init__(
        self, instruments: Sequence[Instrument], fixture: Fixture, new_id: Callable[[], str]
    ) -> None:
        self.instruments = {each.name: each for each in instruments}
        self.fixture = fixture
        self.new_id = new_id
        self.record: Record | None = None
        self.target: Target | None = None
        self.phase = Phase.IDLE
        self.taken: Taken | None = None
        self.streams = {each.name: Stream(each.resolution_mm) for each in instruments}
        self._attempts: dict[str, Attempt] = {}
        self._doubted: tuple[str, Captured] | None = None
        self._doubt = ""
        self._taking: Taken | None = None
        self._empty = ""  # the gauge whose part left and whose next one was not seen to come
        self._pressed: tuple[str, Sequence[Reading]] | None = None  # the next one's, once it is up

    # Readings

    def feed(self, gauge: str, readings: Sequence[Reading]) -> list[Draft]:
        """Take a batch of one gauge; an empty one says that its stream broke."""
        if gauge not in self.streams:
            return []
        if not readings:
            return self._broke(gauge)
        self.streams[gauge].feed(readings)
        if self.phase is Phase.TAKE_OUT and self.taken is not None and self.taken.gauge == gauge:
            self.taken.feed(readings)
            if self.taken.went_on:
                return []  # a question stands; no part that leaves and no button answers it
            if self.taken.leaving.left:
                self._empty = gauge
                return self.go_on()
            pressed = self.taken.button.pressed(readings)
            if not pressed or self._still_in():
                return []
            # A gauge that speaks on its button only is where its person says that it is.
            self._pressed = None if self.taken.button.streams else (gauge, pressed)
            return self.go_on()
        if self.phase is Phase.CAPTURING and gauge in self._attempts:
            self._attempts[gauge].feed(in_its_unit(self.target, self._on_part(gauge, readings)))
            return self._finished(gauge)
        return []

    def tick(self, t_s: float) -> list[Draft]:
        """Learn what time it is on the readings' clock: silence may end a capture."""
        for gauge, stream in self.streams.items():
            stream.pause(t_s)
            if self.phase is Phase.CAPTURING and gauge in self._attempts:
                self._attempts[gauge].rest(t_s)
                drafts = self._finished(gauge)
                if drafts:
                    return drafts
        if self._pending() and not self._still_in():
            return self.go_on()
        return []

    # Commands

    def change(self, asked: Change, record: Record | None) -> list[Draft]:
        """The drafts of a command, or a sentence why not (RefusedError and its kinds).

        record: of the job that the command names; None for one that names none.
        """
        if isinstance(asked, PutUp | Press | TakeAgain):
            self._empty = ""  # a press says that the part is in
        drafts = commands.drafts_for(self, asked, record)
        if isinstance(asked, OpenJob) and self.is_free():
            drafts += [up_draft(drafts[0].job, first) for first in asked.opening.plan.targets[:1]]
        return drafts

    def is_free(self) -> bool:
        """Whether nothing is waiting to be measured, so that a new job may take the bench."""
        return self.record is None or self.record.is_signed or not self.record.remaining

    # What was written

    def written(self, entries: Sequence[Entry], record: Record | None = None) -> None:
        """Move on: these entries are on disk. record: of their job, where a command named one."""
        for entry in entries:
            elsewhere = self.record is None or self.record.job != entry.job
            if elsewhere and entry.kind is EntryKind.UP and record is not None:
                self.take_over(record)
            if self.record is not None and entry.job == self.record.job:
                self.record = self.record.followed_by(entry)
            elif entry.kind is EntryKind.JOB_OPENED and self.is_free():
                self.take_over(Record((entry,)))
            if self.record is None or entry.job != self.record.job:
                continue
            match entry.kind:
                case EntryKind.UP:
                    self._put_up(target_of(entry.body))
                case EntryKind.KEPT if entry.body["came"] == "captured":
                    self._was_kept(entry)
                case EntryKind.KEPT | EntryKind.SKIPPED:
                    self._was_entered(target_of(entry.body))
                case EntryKind.ZEROED if self._doubted is not None:
                    gauge, captured = self._doubted
                    doubt = self._why_doubted(gauge, self._attempts[gauge], captured)
                    self._doubt = doubt or "the setting ring was read only after it"
                case EntryKind.SIGNED:
                    self._clear()

    def take_over(self, record: Record) -> None:
        """Put another job on the bench, with nothing up."""
        self.record = record
        self._clear()

    def go_on(self) -> list[Draft]:
        """Put up what was asked for meanwhile, or what the plan asks for next."""
        if self.record is None:
            return []
        if self._pending() and self.target is not None:
            # It is up already in the record; only the part had to leave first.
            self._begin(self.target)
            return []
        following = self.following()
        if following is None:
            self._clear()
            return []
        return [up_draft(self.record.job, following)]

    def may_go_on(self) -> bool:
        """Whether a press now is believed: not while the part measured last still moves."""
        return not self._still_in()

    def following(
        self, *, but: Target | None = None, gone: Collection[Target] = ()
    ) -> Target | None:
        """What the plan asks for next, after what is up; from its start when that was the last.

        but, gone: what will not be asked for any more once the drafts in hand are written.
        """
        return next((target for target in self._coming(but) if target not in gone), None)

    # What is in doubt

    @property
    def doubt(self) -> str:
        """Why the value that stands was not kept by itself; "" when there is none."""
        return self._doubt

    def keep_doubted(self) -> list[Draft]:
        """Keep what is in doubt, or what a turn has shown that only a person's word can end: a
        person pressed."""
        if self._doubted is not None:
            gauge, captured = self._doubted
            return [self._keep(gauge, captured, self._doubt)]
        for gauge, attempt in self._attempts.items():
            hint = attempt.progress().hint
            if hint is Hint.ONE_WAY:
                attempt.keep_as_is()
            elif hint is Hint.HARDLY:
                attempt.keep_as_turned()
            if hint in _BY_WORD:
                return [self._keep(gauge, attempt.result(), _BY_WORD[hint])]
        return []

    @property
    def begun(self) -> bool:
        """Whether the capture of what is up has seen something of the part."""
        return any(attempt.begun for attempt in self._attempts.values())

    def can_keep(self) -> bool:
        """Whether a press would keep something."""
        hints = {attempt.progress().hint for attempt in self._attempts.values()}
        return self._doubted is not None or bool(hints & _BY_WORD.keys())

    def progress(self) -> BenchProgress:
        """One look at the bench, for a page."""
        gauge = self._busiest()
        attempt = self._attempts.get(gauge)
        record, target = self.record, self.target
        capture = None if attempt is None else attempt.progress()
        if self.phase is Phase.TAKE_OUT and self.taken is not None:
            capture = self.taken.seen
        return BenchProgress(
            phase=self.phase,
            job="" if record is None else record.job,
            number="" if record is None else str(record.opening["number"]),
            target=target,
            where="" if target is None else characteristic(target.characteristic).where,
            cautions=() if target is None else cautions_for(target.characteristic),
            gauge=gauge,
            stage=0 if attempt is None else attempt.stage,
            capture=capture,
            message=self._message(attempt),
            coming=tuple(self._coming(target)[:COMING_SHOWN]),
            remaining=0 if record is None else len(record.remaining),
            last="" if self.taken is None else self.taken.id,
            not_taken=self._not_taken(attempt),
            asks=self.phase is Phase.NOT_KEPT or bool(self._went_on()),
        )

    # Inside

    def _coming(self, but: Target | None = None) -> list[Target]:
        if self.record is None or self.record.is_signed:
            return []
        left = [target for target in self.record.remaining if target != but]
        order = self.record.order
        up = self.target or self._last_up()
        if up not in order:
            return left
        here = order[up]
        return sorted(left, key=lambda target: order[target] <= here)

    def _last_up(self) -> Target | None:
        """What was up last in this job, where nothing is: the service may have stopped since."""
        ups = () if self.record is None else self.record.of_kind(EntryKind.UP)
        return target_of(ups[-1].body) if ups else None

    def _put_up(self, target: Target) -> None:
        same_again = self.taken is not None and self.taken.target == target
        if self._still_in() and not same_again:
            self.target = target  # up, but the part that was measured has to leave first
            return
        self._begin(target)

    def _begin(self, target: Target) -> None:
        self.target = target
        self.phase = Phase.CAPTURING
        self._doubted, self._doubt = None, ""
        fitting = [each for each in self.instruments.values() if each.may_measure(target[0])]
        crowd = len(fitting) > 1
        self._attempts = {
            each.name: Attempt(self._aim(target, each, crowd=crowd)) for each in fitting
        }
        gauge, pressed = self._pressed or ("", ())
        self._pressed = None
        if gauge in self._attempts:
            self._attempts[gauge].feed(in_its_unit(target, pressed))

    def _aim(self, target: Target, instrument: Instrument, *, crowd: bool) -> Aim:
        about = characteristic(target.characteristic)
        step = None if self.record is None else self.record.plan.step(target.characteristic)
        window = None
        if about.capture == "settle" and step and step.nominal_mm is not None and step.window_mm:
            window = (
                float(step.nominal_mm - step.window_mm),
                float(step.nominal_mm + step.window_mm),
            )
        setup = Setup(
            resolution=instrument.resolution_mm,
            error_limit=instrument.error_limit_mm,
            stylus_angle_deg=instrument.stylus_angle_deg,
            v_angle_deg=self.fixture.v_angle_deg if about.name == "valve.stem_runout" else None,
            one_way=self.fixture.one_way,
        )
        # Several gauges may measure it, or this one still holds what it measured before: only a
        # movement tells that the part now under it is the one that is up.
        unmoved = self.taken is not None and self._joins_on(instrument.name)
        return Aim(
            Kind(about.capture or "look"),
            setup,
            window=window,
            zeros=about.zeros,
            moved_first=crowd or unmoved,
        )

    def _on_part(self, gauge: str, readings: Sequence[Reading]) -> Sequence[Reading]:
        """Those of `readings` that can be of the part that is up.

        After a valve was lifted off, a plunger that hangs free and is jogged draws turning points,
        too: until the next valve is seen to come under it, its readings belong to nobody.
        """
        attempt, taken = self._attempts[gauge], self.taken
        if self._empty != gauge or taken is None or attempt.aim.kind is not Kind.TURN:
            return readings
        for count, reading in enumerate(readings):
            taken.leaving.feed((reading,))
            if taken.leaving.arrived:
                self._empty = ""
                return readings[count + 1 :]
        return ()

    def _joins_on(self, gauge: str) -> bool:
        """Whether this gauge's stream ran on since it took the last value, part still on it."""
        taken = self.taken
        return (
            taken is not None
            and taken.gauge == gauge
            and not taken.leaving.left
            and not self.streams[gauge].paused_since(taken.until_t_s)
        )

    def _finished(self, gauge: str) -> list[Draft]:
        attempt = self._attempts[gauge]
        if not attempt.done or self.target is None:
            return []
        captured = attempt.result()
        self._doubt = self._why_doubted(gauge, attempt, captured)
        if self._doubt:
            self._doubted = (gauge, captured)
            self.phase = Phase.NOT_KEPT
            return []
        return [self._keep(gauge, captured, "")]

    def _why_doubted(self, gauge: str, attempt: Attempt, captured: Captured) -> str:
        if captured.detail.get("looks_swayed"):
            return "it looks swayed to and fro, not turned one way"
        if self.record is None or self.target is None:
            return ""
        before, instrument = self.taken, self.instruments[gauge]
        if before is not None and captured.kind is Kind.TURN and self._joins_on(gauge):
            other_part = self.target.position != before.target.position
            if other_part and same_band(before.trace, attempt.trace, instrument.resolution_mm):
                return f"it looks like {before.target.position} is still in"
        return question_about(self.record, self.target, captured, instrument)

    def _keep(self, gauge: str, captured: Captured, doubt: str) -> Draft:
        record, target = self.record, self.target
        if record is None or target is None:
            raise RuntimeError("a value was captured with nothing up")
        instrument, attempt = self.instruments[gauge], self._attempts[gauge]
        trace = list(attempt.trace)
        self._taking = Taken.of(target, gauge, attempt, captured)
        return kept_draft(record, target, captured, instrument=instrument, trace=trace, doubt=doubt)

    def _was_entered(self, target: Target) -> None:
        """What is up needs no gauge any more; what follows, if anything does, is up next."""
        if target == self.target and self.phase is not Phase.TAKE_OUT:
            self._clear()

    def _was_kept(self, entry: Entry) -> None:
        if self._taking is None:  # a look: answered, no gauge had a part
            self._was_entered(target_of(entry.body))
            return
        self.taken, self._taking = self._taking, None
        self.taken.id = entry.id
        self._attempts, self._doubted, self._doubt = {}, None, ""
        self.phase = Phase.TAKE_OUT

    def _broke(self, gauge: str) -> list[Draft]:
        attempt = self._attempts.get(gauge)
        if (
            self.phase is not Phase.CAPTURING
            or attempt is None
            or not self.target
            or not self.record
        ):
            return []
        begun = attempt.begun
        self._attempts[gauge] = Attempt(attempt.aim)
        if not begun:
            return []
        reason = f"{gauge} broke off in the middle of the capture; it starts again"
        return [
            broken_draft(self.record.job, self.target, reason),
            up_draft(self.record.job, self.target),
        ]

    def _pending(self) -> bool:
        """Whether something was put up while the part measured before is still in."""
        return (
            self.phase is Phase.TAKE_OUT
            and self.taken is not None
            and self.target != self.taken.target
        )

    def _still_in(self) -> bool:
        """Whether the part measured last is still on its gauge and moves."""
        return (
            self.phase is Phase.TAKE_OUT
            and self.taken is not None
            and self.taken.button.streams
            and self._joins_on(self.taken.gauge)
            and self.streams[self.taken.gauge].moving
        )

    def _busiest(self) -> str:
        """The gauge that has seen most of what is up, or the one that took the last value."""
        if self.phase is Phase.TAKE_OUT and self.taken is not None:
            return self.taken.gauge
        if len(self._attempts) == 1:
            return next(iter(self._attempts))
        begun = {name: each.progress() for name, each in self._attempts.items() if each.begun}
        return max(begun, key=lambda name: begun[name].share) if begun else ""

    def _went_on(self) -> str:
        """What is asked about the value that was kept last; "" when nothing is."""
        is_in = self.phase is Phase.TAKE_OUT and self.taken is not None
        return self.taken.went_on if is_in and self.taken is not None else ""

    def _not_taken(self, attempt: Attempt | None) -> bool:
        """Whether the last press of a gauge's button is not what is up, or came too soon."""
        if self.phase is Phase.TAKE_OUT:
            return self.taken is not None and self.taken.button.too_soon
        return attempt is not None and attempt.missed is not None

    def _message(self, attempt: Attempt | None) -> str:
        match self.phase:
            case Phase.TAKE_OUT if self._went_on():
                return f"{self._went_on()}. Take it again, or press Go on to leave what was kept."
            case Phase.TAKE_OUT if self._not_taken(attempt):
                return "Not taken: it came too soon after the last one. Press once more."
            case Phase.TAKE_OUT:
                return "Take it out."
            case Phase.NOT_KEPT:
                end = "" if self._doubt.endswith("?") else "."
                return f"Not kept: {self._doubt}{end} Take it again, or press Go on to keep it."
            case Phase.IDLE if self.record is None:
                return "Open a job."
            case Phase.IDLE if self.is_free():
                return "Everything the plan asks for is measured."
            case Phase.IDLE:
                return "Take out what is in. Then press Go on."
            case _:
                return self._capturing_message(attempt)

    def _capturing_message(self, attempt: Attempt | None) -> str:
        if self.target is None:
            return ""
        about = characteristic(self.target.characteristic)
        if about.zeros and attempt is not None:
            return "Now on the valve head." if attempt.stage else "First on the head face."
        if about.capture == "rock" and not self._has_a_zero():
            return "Read a setting ring first: without one the gauge shows no diameter."
        if attempt is not None and attempt.missed is not None and attempt.aim.window is not None:
            low, high = attempt.aim.window
            shown = f"{attempt.missed.value:.6g} {attempt.missed.unit}"
            return f"Not taken: {shown} is not between {low:g} and {high:g}, where this lies."
        progress: Progress | None = None if attempt is None else attempt.progress()
        if progress is not None and progress.hint is Hint.ONE_WAY:
            return "It looks swayed, or touched: take it again, or press Go on to keep it."
        if progress is not None and progress.hint is Hint.HARDLY:
            return "It hardly moves: turn it on. Press Go on only if it was turned, twice round."
        if progress is not None and progress.hint is Hint.AGAIN:
            return "No turn comes out of this: lift it, take it again, and turn it one way."
        if progress is not None and progress.hint is Hint.SLOWER:
            return "Slower: too few readings come for this pace."
        if about.capture == "turn" and self._empty in self._attempts:
            return "Put it in."
        if about.capture == "turn":
            return "Turn it one way, a turn and a quarter at least."
        return ""

    def _has_a_zero(self) -> bool:
        """Whether a gauge that is in use was read in a ring in this job."""
        return self.record is not None and any(
            zeroes_of(self.record, gauge) for gauge in self._attempts
        )

    def _clear(self) -> None:
        self.target, self.phase = None, Phase.IDLE
        self._attempts, self._doubted, self._doubt = {}, None, ""
        self._pressed = None
