"""The record of a job: append-only entries, each carrying the hash of the one before.

Pure: the journal stamps ids and times and stores; everything that is known of a job is a fold
over its entries, so a record read back is the record that was written.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property, lru_cache
from typing import Any

from daq.head.characteristic import characteristic
from daq.head.errors import UnknownError
from daq.head.layout import HEAD
from daq.head.plan import Place, Plan, Target

GENESIS_HASH = "0" * 64
PLACES_KEPT = 4096  # more than the places of many plans; each is a few hundred bytes


class EntryKind(StrEnum):
    """Everything that can be written into a record."""

    JOB_OPENED = "job.opened"
    UP = "capture.up"
    BROKEN = "capture.broken"
    KEPT = "measurement.kept"
    VOIDED = "measurement.voided"
    SKIPPED = "characteristic.skipped"
    REWORKED = "part.reworked"
    TEMPERATURE = "temperature.noted"
    ZEROED = "gauge.zeroed"
    ORDERED = "job.ordered"
    PHOTOGRAPHED = "photograph.kept"
    SIGNED = "job.signed"


@dataclass(frozen=True, slots=True)
class Draft:
    """What is to be written into a job's record, before the journal gives it its place.

    body: JSON of strings, whole numbers, booleans, nulls, lists and objects; no floats, because a
    hash over a float would depend on who prints it. trace: the packed trace that the body names
    by its hash, stored in the same transaction; None where there is none. photograph: the picture
    that the body names by its hash, written into its file before anything else.
    """

    job: str
    kind: EntryKind
    body: Mapping[str, Any]
    trace: bytes | None = None
    photograph: bytes | None = None


@dataclass(frozen=True, slots=True)
class Seal:
    """A signature under the end of a chain. key: which key made it; signature: base64."""

    key: str
    signature: str


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of a record. at: RFC 3339, UTC, milliseconds. number: 1, 2, 3 … in its job."""

    job: str
    number: int
    id: str
    at: str
    kind: EntryKind
    body: Mapping[str, Any]
    previous: str
    hash: str


def sealed(draft: Draft, *, number: int, entry_id: str, at: str, previous: str) -> Entry:
    """`draft` as entry `number`, chained to the entry whose hash is `previous`."""
    digest = _digest(draft.job, number, entry_id, at, draft.kind, draft.body, previous)
    return Entry(draft.job, number, entry_id, at, draft.kind, draft.body, previous, digest)


def is_whole(entry: Entry, *, previous: str) -> bool:
    """Whether `entry` is unaltered and follows the entry whose hash is `previous`."""
    return entry.previous == previous and entry.hash == _digest(
        entry.job, entry.number, entry.id, entry.at, entry.kind, entry.body, entry.previous
    )


def signed_bytes(job: str, entries: int, last_hash: str) -> bytes:
    """What is signed of a record: that the chain of this job has so many entries and this end."""
    return canonical_json(["benchtally.head.1", job, entries, last_hash]).encode()


def canonical_json(value: Any) -> str:
    """JSON with one spelling: sorted keys, no spaces, nothing escaped that need not be."""
    return json.dumps(
        value, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    )


def _digest(
    job: str,
    number: int,
    entry_id: str,
    at: str,
    kind: EntryKind,
    body: Mapping[str, Any],
    previous: str,
) -> str:
    text = canonical_json([job, number, entry_id, at, kind.value, body, previous])
    return hashlib.sha256(text.encode()).hexdigest()


@dataclass(frozen=True)
class Record:
    """All entries of one job, in order; the first opened it. seal: under its end, as it is
    stored; None for a record that was not read from the journal."""

    entries: tuple[Entry, ...]
    seal: Seal | None = None

    @property
    def job(self) -> str:
        """The job's id."""
        return self.entries[0].job

    @property
    def opening(self) -> Mapping[str, Any]:
        """What was said when the job was opened: number, customer, complaint, cylinder_one …"""
        return self.entries[0].body

    @cached_property
    def plan(self) -> Plan:
        """The plan this job was opened with."""
        return Plan.model_validate(self.opening["plan"])

    def of_kind(self, *kinds: EntryKind) -> tuple[Entry, ...]:
        """The entries of these kinds, in order."""
        return tuple(entry for entry in self.entries if entry.kind in kinds)

    @property
    def is_signed(self) -> bool:
        """Whether the job is closed."""
        return bool(self.of_kind(EntryKind.SIGNED))

    def followed_by(self, *entries: Entry) -> "Record":
        """This record with `entries` written behind it."""
        longer = Record((*self.entries, *entries))
        # Read from the opening once: it is the same plan, and reading it costs a millisecond.
        longer.__dict__["plan"] = self.plan
        return longer

    @cached_property
    def voids(self) -> Mapping[str, Entry]:
        """Voided measurements: measurement id to the entry that voided it."""
        return {
            str(entry.body["measurement_id"]): entry for entry in self.of_kind(EntryKind.VOIDED)
        }

    @property
    def standing(self) -> tuple[Entry, ...]:
        """Kept measurements that count: not voided, and not from before a rework of their part.

        A complete take that was voided without having passed leaves its place to be measured
        again: an earlier take beside it does not count until then, or voiding would be a way to
        choose the best one.
        """
        return self._fold[0]

    def standing_before(self, rework: str) -> tuple[Entry, ...]:
        """What counted just before the rework with that id was noted."""
        return self._fold[1][rework]

    @cached_property
    def _fold(self) -> tuple[tuple[Entry, ...], Mapping[str, tuple[Entry, ...]]]:
        counting: list[Entry] = []
        before: dict[str, tuple[Entry, ...]] = {}
        for entry in self.entries:
            if entry.kind is EntryKind.KEPT and entry.id not in self.voids:
                counting.append(entry)
            elif entry.kind is EntryKind.REWORKED:
                before[entry.id] = tuple(counting)
                counting = _still_true(counting, entry)
            elif entry.kind is EntryKind.VOIDED:
                counting = self._without_what_it_owes(counting, entry)
        return tuple(counting), before

    def _without_what_it_owes(self, counting: list[Entry], void: Entry) -> list[Entry]:
        voided = self.kept(str(void.body["measurement_id"])).body
        if voided["status"] == "PASS" or not voided["complete"]:
            return counting
        return [kept for kept in counting if _spot(kept.body) != _spot(voided)]

    @cached_property
    def skips(self) -> Mapping[Target, Entry]:
        """What is left out, with the entry that says why.

        Lifted when it is measured after all, and by a rework that makes it another part's.
        """
        found: dict[Target, Entry] = {}
        for entry in self.entries:
            if entry.kind is EntryKind.SKIPPED:
                found[target_of(entry.body)] = entry
            elif entry.kind is EntryKind.KEPT and found:
                found.pop(target_of(entry.body), None)
            elif entry.kind is EntryKind.REWORKED:
                kept = {skip.id for skip in _still_true(found.values(), entry)}
                found = {target: skip for target, skip in found.items() if skip.id in kept}
        return found

    @cached_property
    def drifted(self) -> Mapping[str, str]:
        """Measurements taken between two checks of a zero that differ: id, and a sentence each."""
        flagged: dict[str, str] = {}
        since: dict[str, list[str]] = {}
        for entry in self.of_kind(EntryKind.KEPT, EntryKind.ZEROED):
            gauge = str(entry.body.get("gauge") or "")
            if entry.kind is EntryKind.KEPT:
                since.setdefault(gauge, []).append(entry.id)
                continue
            between = since.pop(gauge, [])
            if entry.body.get("drifted"):
                flagged.update(dict.fromkeys(between, _drift_said(entry.body)))
        return flagged

    def kept(self, measurement_id: str) -> Entry:
        """The entry of that measurement, voided or not. Raises UnknownError."""
        for entry in self.entries:
            if entry.id == measurement_id and entry.kind is EntryKind.KEPT:
                return entry
        raise UnknownError(f"job {self.opening['number']} has no measurement {measurement_id!r}")

    def open_capture(self) -> Entry | None:
        """The characteristic that was up when the entries end, if its capture did not end."""
        for entry in reversed(self.entries):
            if entry.kind is EntryKind.UP:
                return entry
            if entry.kind in {EntryKind.BROKEN, EntryKind.SKIPPED} or (
                entry.kind is EntryKind.KEPT and entry.body["came"] == "captured"
            ):
                return None
        return None

    @cached_property
    def order(self) -> dict[Target, int]:
        """Each target's turn: by characteristic, one set-up of a gauge at a time, or by part."""
        asked = self.of_kind(EntryKind.ORDERED)
        if not asked or asked[-1].body["by"] == "characteristic":
            return self.plan.order
        parts = list(dict.fromkeys(step.about.part for step in self.plan.steps))
        positions = (HEAD, *self.plan.head.positions)
        in_turn = sorted(
            self.plan.targets,
            key=lambda target: (
                positions.index(target.position),
                parts.index(characteristic(target.characteristic).part),
            ),
        )
        return {target: turn for turn, target in enumerate(in_turn)}

    @cached_property
    def remaining(self) -> tuple[Target, ...]:
        """What the plan still asks for, in turn; skipped targets are not asked again.

        Measured on a zero that drifted is not measured.
        """
        done = {
            target_of(entry.body)
            for entry in self.standing
            if entry.body["complete"] and entry.id not in self.drifted
        }
        return tuple(
            target for target in self.order if target not in done and target not in self.skips
        )


def _drift_said(body: Mapping[str, Any]) -> str:
    return (
        f"the zero of {body['gauge']} moved by {body['drift_mm']} mm between two checks in "
        f"{body['ring']}, and this was measured between them; measure it again"
    )


def _still_true(entries: Iterable[Entry], rework: Entry) -> list[Entry]:
    """Those of `entries` that this work did not make untrue; work on the head reaches all of it."""
    gone, where = set(rework.body["invalidates"]), rework.body["position"]
    return [
        entry
        for entry in entries
        if entry.body["characteristic"] not in gone or where not in {entry.body["position"], HEAD}
    ]


def _spot(body: Mapping[str, Any]) -> tuple[str, str, str]:
    """Which characteristic, position and place, cheaply compared."""
    return body["characteristic"], body["position"], canonical_json(body.get("place"))


def target_of(body: Mapping[str, Any]) -> Target:
    """The target that an entry's body speaks of."""

    place = body.get("place")
    return Target(
        str(body["characteristic"]),
        str(body["position"]),
        None if place is None else _place(tuple(sorted(place.items()))),
    )


@lru_cache(maxsize=PLACES_KEPT)
def _place(said: tuple[tuple[str, str], ...]) -> Place:
    """A place read back; the same few come again and again, and reading one costs 10 µs."""
    return Place.model_validate(dict(said))
