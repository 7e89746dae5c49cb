"""A record written by hand, without a bench or a disk: for tests of what is read from it."""

from decimal import Decimal

from daq.head import changes
from daq.head.instrument import Instrument
from daq.head.keyed import Keyed, keyed
from daq.head.measurement import Came
from daq.head.place import Place
from daq.head.plan import Plan, Target
from daq.head.record import GENESIS_HASH, Draft, Entry, EntryKind, Record, sealed
from daq.head.view import record_view

FINE = Instrument("fine gauge", "G-1", 0.001, error_limit_mm=0.001)


class Book:
    """A job of `plan`; every value it is given is keyed in, and judged as the bench would."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.entries: list[Entry] = []
        self._seen = None
        self.add(changes.Opening(number="J-1", plan=plan).draft("job-1"))
        self._opened = Record(tuple(self.entries))

    @property
    def record(self) -> Record:
        return Record(tuple(self.entries))

    @property
    def view(self):
        if self._seen is None or self._seen[0] != len(self.entries):
            self._seen = (len(self.entries), record_view(self.record))
        return self._seen[1]

    def add(self, draft: Draft) -> Entry:
        number = len(self.entries) + 1
        entry = sealed(
            draft,
            number=number,
            entry_id=f"m{number}",
            at=f"2026-11-25T09:{number // 60 % 60:02}:{number % 60:02}.{number // 3600:03}Z",
            previous=self.entries[-1].hash if self.entries else GENESIS_HASH,
        )
        self.entries.append(entry)
        return entry

    def key(
        self, name, position, value, place=None, *,
        gauge=FINE, unit=None, note=None, ask=None, held_s=None,
    ):  # fmt: skip
        """Key one value in. ask: the record that says which limit holds; else the one so far."""
        step = self.plan.step(name)
        asked = Keyed(
            target=Target(name, position, place),
            value=Decimal(str(value)),
            unit=unit or step.about.unit,
            came=Came.KEYED,
            gauge=gauge if (unit or step.about.unit) in {"mm", "in"} else None,
            held_s=None if held_s is None else Decimal(held_s),
            note=note,
            confirmed=True,
        )
        return self.add(keyed(ask or self.record, asked))

    def key_all(self, values, *, ask=None):
        """Key many in: (characteristic, position, place, value), judged by the limits as found."""
        for name, position, place, value in values:
            self.key(name, position, value, place, ask=ask or self._opened)

    def partial(self, name, position, value, place=None):
        """A take that was not complete: what a turn had shown when it broke off."""
        draft = keyed(
            self.record,
            Keyed(Target(name, position, place), Decimal(str(value)), "mm", Came.SENT, FINE),
        )
        from daq.head.measurement import Limits, Status

        body = dict(draft.body)
        limits = None if body["limits"] is None else Limits.model_validate(body["limits"])
        over = limits and limits.upper is not None and Decimal(str(value)) > limits.upper * 2
        status = Status.FAIL if over else Status.INDETERMINATE
        body |= {"complete": False, "status": status.value, "reason": "nothing came by twice"}
        return self.add(Draft(draft.job, draft.kind, body))

    def rework(self, position, part, act, what="done"):
        return self.add(changes.reworked(self.record, changes.Reworked(position, part, what, act)))

    def void(self, entry, reason="slipped"):
        return self.add(changes.voided(self.record, entry.id, reason, None))

    def skip(self, name, position, place=None, because="other", reason="left out"):
        body = {
            "characteristic": name,
            "position": position,
            "place": None if place is None else place.model_dump(mode="json"),
            "because": because,
            "reason": reason,
            "person": "A. Person",
        }
        return self.add(Draft("job-1", EntryKind.SKIPPED, body))

    def decision(self, position, part):
        return next(d for d in self.view.decisions if (d.position, d.part) == (position, part))

    def verdict(self, position, part):
        return self.decision(position, part).decision.value


def places(plan: Plan, name: str) -> tuple[Place | None, ...]:
    return plan.step(name).places
