"""Entries as CloudEvents 1.0 (JSON format): what `/events` hands out and other software reads.

Attribute names: letters and digits only. The `id` is the entry's own, so an event that arrives
twice is recognised; `cursor` is an extension attribute that says where to go on.
"""

import re
from collections.abc import Mapping
from typing import Any

from daq.head.kept import measurement_of
from daq.head.record import Entry, EntryKind

SPEC_VERSION = "1.0"
# A job that is signed is closed: that is what receivers wait for.
_TYPES = {EntryKind.SIGNED: "job.closed"}


def event_of(entry: Entry, bench: str, cursor: int) -> dict[str, Any]:
    """The event of `entry`, kept at the bench with that name."""
    kept = entry.kind is EntryKind.KEPT
    measured_at = entry.body.get("measured_at") if kept else None
    return {
        "specversion": SPEC_VERSION,
        "id": entry.id,
        "source": source_of(bench),
        "type": f"benchtally.{_TYPES.get(entry.kind, entry.kind.value)}.v1",
        "subject": _subject(entry),
        "time": measured_at or entry.at,
        "datacontenttype": "application/json",
        "cursor": str(cursor),
        "data": _measured(entry) if kept else {"job": entry.job, **entry.body},
    }


def source_of(bench: str) -> str:
    """A URI reference for the bench of that name."""
    return "urn:x-bench:" + (re.sub(r"[^A-Za-z0-9.-]+", "-", bench).strip("-").lower() or "bench")


def _subject(entry: Entry) -> str:
    parts = ["job", entry.job]
    parts += [str(entry.body[key]) for key in ("position", "characteristic") if key in entry.body]
    return "/".join(parts)


def _measured(entry: Entry) -> dict[str, Any]:
    m = measurement_of(entry).model_dump(mode="json")
    limits: Mapping[str, Any] = m["limits"] or {}
    place: Mapping[str, Any] = m["place"] or {}
    return {
        "job": entry.job,
        "position": m["position"],
        "characteristic": m["characteristic"],
        "place": {"depth": place.get("depth_mm"), "direction": place.get("direction")},
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
        "trace": {"sha256": m["trace_sha256"]},
        "note": m["note"],
    }
