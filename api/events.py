"""Entries as CloudEvents 1.0 (JSON format): what `/events` hands out and other software reads.

Attribute names: letters and digits only. The `id` is the entry's own, so an event that arrives
twice is recognised; `cursor` is an extension attribute that says where to go on.
"""

import re
from collections.abc import Mapping
from typing import Any

from daq.head.kept import measurement_of
from daq.head.measurement import Status
from daq.head.record import Entry, EntryKind
from daq.records.feed import Event

SPEC_VERSION = "1.0"
# CloudEvents asks for a domain in reverse. The project owns none, and RFC 9476 keeps everything
# under `alt` out of the DNS, so that nobody else can ever own this one.
TYPES = "alt.benchtally"
# A job that is signed is closed: that is what receivers wait for.
_NAMED = {EntryKind.SIGNED: "job.closed"}


def event_of(event: Event, bench: str) -> dict[str, Any]:
    """The CloudEvent of something written at the bench with that name."""
    entry = event.entry
    kept = entry.kind is EntryKind.KEPT
    measured_at = entry.body.get("measured_at") if kept else None
    return {
        "specversion": SPEC_VERSION,
        "id": entry.id,
        "source": source_of(bench),
        "type": type_of(entry.kind),
        "subject": _subject(event),
        "time": measured_at or entry.at,
        "datacontenttype": "application/json",
        "cursor": str(event.cursor),
        "data": {
            "job": entry.job,
            "number": event.job.number,
            "part_serial": event.job.serial,
            "spec_version": event.job.plan,
            **(_measured(entry) if kept else _voided(event) if event.voided else entry.body),
        },
    }


def type_of(kind: EntryKind) -> str:
    """The type of the events of that kind; another number at its end says another shape."""
    return f"{TYPES}.{_NAMED.get(kind, kind.value)}.v1"


def source_of(bench: str) -> str:
    """A URI reference for the bench of that name."""
    return "urn:x-bench:" + (re.sub(r"[^A-Za-z0-9.-]+", "-", bench).strip("-").lower() or "bench")


def trace_path(sha256: str) -> str:
    """Where the raw trace with that hash is, from the address of its bench."""
    return f"/api/v1/traces/{sha256}"


def _subject(event: Event) -> str:
    body = (event.voided or event.entry).body
    named = [str(body[key]) for key in ("position", "characteristic") if key in body]
    return "/".join(["job", event.entry.job, *named])


def _voided(event: Event) -> dict[str, Any]:
    """The measurement once more, as it stands now: a receiver need not have kept the first."""
    assert event.voided is not None  # noqa: S101 - asked by the caller, for the types
    return {
        **_measured(event.voided),
        "measurement_id": event.voided.id,
        "status": Status.VOID.value,
        "note": event.entry.body["reason"],
        "voided_by": event.entry.body["person"],
    }


def _measured(entry: Entry) -> dict[str, Any]:
    m = measurement_of(entry).model_dump(mode="json")
    limits: Mapping[str, Any] = m["limits"] or {}
    place: Mapping[str, Any] = m["place"] or {}
    return {
        "position": m["position"],
        "characteristic": m["characteristic"],
        "place": {
            "depth": place.get("depth_mm"),
            "direction": place.get("direction"),
            "length": place.get("length_mm"),
            "spot": place.get("spot"),
        },
        "value": m["value"],
        "unit": m["unit"],
        "lower": limits.get("lower"),
        "upper": limits.get("upper"),
        "limit_source": m["limit_source"],
        "status": m["status"],
        "complete": m["complete"],
        "came": m["came"],
        "take": m["take"],
        "uncertainty": {"value": m["uncertainty"], "k": m["k"]},
        "gauge": {
            "name": m["gauge"],
            "serial": m["gauge_serial"],
            "certificate": m["certificate"],
            "due": m["calibration_due"],
        },
        "operator": m["person"],
        "trace": None
        if m["trace_sha256"] is None
        else {"sha256": m["trace_sha256"], "url": trace_path(m["trace_sha256"])},
        "note": m["note"],
    }
