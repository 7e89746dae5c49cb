"""Recordings into values: what `benchtally evaluate` answers for each file."""

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from daq.capture.base import Captured, Kind, Setup
from daq.capture.evaluate import evaluate
from daq.head.clearance import budget_shown
from drivers.reading import Reading, Unit
from drivers.replay import RecordingError, read_recording

# What a recording has to hold so that its kind can be worked out from it.
_UNITS = {Kind.TURN: Unit.MM, Kind.ROCK: Unit.MM, Kind.SETTLE: Unit.MM, Kind.DECAY: Unit.MBAR}


@dataclass(frozen=True, slots=True)
class Evaluated:
    """One file and its value. value, uncertainty (expanded, k = 2): in `unit`, None when nothing
    was seen. detail: how the value came about, with reason, warnings and budget."""

    file: str
    kind: str
    value: float | None
    unit: str
    complete: bool
    uncertainty: float | None
    detail: dict[str, Any]

    def json_line(self) -> str:
        """One line of JSON; numbers are JSON numbers."""
        shown = {field: getattr(self, field) for field in self.__slots__}
        return json.dumps(_finite(shown), ensure_ascii=False, allow_nan=False)


def evaluate_file(kind: Kind, file: Path, *, one_way: bool) -> Evaluated:
    """The value of the recording in `file`. Raises RecordingError with a sentence."""
    recording = read_recording(file)
    wanted = _UNITS[kind]
    readings: Sequence[Reading] = recording.readings
    if readings[0].unit is not wanted:
        raise RecordingError(
            f"{file}: {recording.value_column} is no {wanted} column, and a {kind} is evaluated "
            f"from {wanted}. Give a recording of a {kind}, or evaluate it as what it is."
        )
    captured = evaluate(kind, readings, Setup(resolution=recording.step, one_way=one_way))
    return _evaluated(str(file), kind, captured, wanted)


def _evaluated(file: str, kind: Kind, captured: Captured, read_in: Unit) -> Evaluated:
    measured = captured.measured
    unit = f"{read_in}/s" if kind is Kind.DECAY else str(read_in)
    detail = {
        **captured.detail,
        "reason": captured.reason,
        "warnings": list(captured.warnings),
        "budget": [] if measured is None else budget_shown(measured),
    }
    return Evaluated(
        file=file,
        kind=kind.value,
        value=None if measured is None else measured.value,
        unit=unit if measured is None else measured.unit,
        complete=captured.complete,
        uncertainty=None if measured is None else measured.expanded,
        detail=detail,
    )


def _finite(value: Any) -> Any:
    """The same with null for numbers that JSON has no word for."""
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, dict):
        return {key: _finite(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_finite(item) for item in value]
    return value
