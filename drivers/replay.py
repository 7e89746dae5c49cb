"""A recording as a gauge: read a CSV of one capture, and play it back at its own pace.

The CSV has a header; a column `t_s`; exactly one value column, whose name ends in its unit
(`value_mm`, `value_in`, `below_ambient_mbar`); and, if wanted, a column `index` that is 1 where a
once-per-turn mark passed and 0 or empty elsewhere. Columns of other names are not looked at.
"""

import asyncio
import csv
import re
from collections.abc import AsyncGenerator, Awaitable, Callable, Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from math import gcd
from pathlib import Path
from typing import NamedTuple

from drivers.profile import CANONICAL, SourceUnit
from drivers.reading import Reading, State, on_time_grid, on_value_grid

FILE_BYTES_MAX = 64 * 1024 * 1024
READINGS_MAX = 1_000_000  # a capture is minutes; more than this is not one capture
FINEST_STEP = Decimal("1e-7")  # what is finer comes from a program's floats, not from a gauge
STEPS_IN_LAST_DIGIT = (1270, 254, 127, 5, 2)
# A program may write 1e-05 for a time; NaN, infinity and thousands of digits are no numbers.
_NUMBER = re.compile(r"[+-]?[0-9]{1,9}(?:\.[0-9]{0,20})?(?:[eE](?:-[0-9]{1,2}|\+?0?[0-9]))?")
_UNIT_ENDINGS = {f"_{unit.value.lower()}": unit for unit in SourceUnit}


class RecordingError(ValueError):
    """For whoever made the file: which file and line, what is wrong, what to do."""


@dataclass(frozen=True, slots=True)
class Recording:
    """A recorded capture.

    readings: in canonical units, on the grids of `drivers.reading`. source_unit: of the file.
    step: the finest step seen, in the canonical unit. value_column: its name in the file.
    """

    readings: list[Reading]
    source_unit: SourceUnit
    step: float
    value_column: str


class _Columns(NamedTuple):
    time: int
    value: int
    mark: int | None
    name: str
    unit: SourceUnit


def read_recording(path: str | Path) -> Recording:
    """Read and check a whole recording; the gauge's name is the file's. Raises RecordingError."""
    path = Path(path)
    rows = csv.reader(_text_of(path).splitlines())
    values: dict[str, float] = {}
    try:
        columns = _columns(path, next(rows, []))
        readings = list(_readings(path, rows, columns, values))
    except csv.Error as error:
        raise RecordingError(f"{path} is no CSV: {error}. Write it with commas.") from None
    if not readings:
        raise RecordingError(f"{path} holds no readings, only a header. Record something into it.")
    step = _finest_step(values) * CANONICAL[columns.unit][1]
    return Recording(readings, columns.unit, float(step), columns.name)


def _text_of(path: Path) -> str:
    try:
        with path.open("rb") as file:
            data = file.read(FILE_BYTES_MAX + 1)
    except OSError as error:
        raise RecordingError(f"{path} cannot be read: {error.strerror}.") from None
    if len(data) > FILE_BYTES_MAX:
        raise RecordingError(
            f"{path} is larger than {FILE_BYTES_MAX // 2**20} MiB. Cut it to one capture a file."
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise RecordingError(
            f"{path}, line {line}: not UTF-8 text. Save the file as CSV in UTF-8."
        ) from None
    if not text.strip():
        raise RecordingError(f"{path} is empty. A recording needs a header and readings.")
    return text


def _columns(path: Path, header: list[str]) -> _Columns:
    names = [name.strip() for name in header]
    values = [name for name in names if name != "t_s" and _unit_of(name) is not None]
    shown = ", ".join(names)[:200]
    endings = ", ".join(sorted(_UNIT_ENDINGS))
    if "t_s" not in names:
        hint = " Columns are separated by commas, not semicolons." if ";" in shown else ""
        raise RecordingError(
            f"{path}, line 1: there is no column t_s (found: {shown}). The first line names the "
            f"columns; t_s holds the time in seconds.{hint}"
        )
    if not values:
        raise RecordingError(
            f"{path}, line 1: there is no value column (found: {shown}). Its name ends in its "
            f"unit, one of {endings}, as in value_mm."
        )
    if len(values) > 1 or len(set(names)) < len(names):
        raise RecordingError(
            f"{path}, line 1: more than one column could be meant (found: {shown}). "
            "Leave t_s, one value column and, if there is one, index."
        )
    mark = names.index("index") if "index" in names else None
    unit = _unit_of(values[0]) or SourceUnit.MM
    return _Columns(names.index("t_s"), names.index(values[0]), mark, values[0], unit)


def _unit_of(name: str) -> SourceUnit | None:
    return _UNIT_ENDINGS.get("_" + name.lower().rpartition("_")[2]) if "_" in name else None


def _readings(
    path: Path, rows: Iterator[list[str]], columns: _Columns, values: dict[str, float]
) -> Iterator[Reading]:
    """Each row as a reading. values: filled with every different number text and its value.

    A gauge shows few different numbers, so each is checked and converted only once.
    """
    unit, factor = CANONICAL[columns.unit]
    cells = max(columns.time, columns.value, columns.mark or 0) + 1
    last_t_s = 0.0
    for count, row in enumerate(rows):
        line = count + 2
        if not row:
            continue
        if len(row) < cells:
            raise RecordingError(f"{path}, line {line}: a column is missing. Repair the line.")
        if count >= READINGS_MAX:
            raise RecordingError(
                f"{path}, line {line}: more than {READINGS_MAX} readings. Cut it to one capture."
            )
        t_s = on_time_grid(float(_number(path, line, "t_s", row[columns.time])))
        if count and t_s < last_t_s:
            raise RecordingError(
                f"{path}, line {line}: the time goes back, from {last_t_s} to {t_s} s. "
                "Put one capture in a file, in the order it was recorded."
            )
        last_t_s = t_s
        text = row[columns.value]
        if text not in values:
            number = _number(path, line, columns.name, text)
            values[text] = on_value_grid(Decimal(number) * factor)
        mark = columns.mark is not None and _mark(path, line, row[columns.mark])
        yield Reading(path.name, "", t_s, values[text], unit, State.OK, mark)


def _number(path: Path, line: int, column: str, cell: str) -> str:
    text = cell.strip()
    if _NUMBER.fullmatch(text) is None:
        shown = text if len(text) <= 40 else f"{text[:40]}..."
        raise RecordingError(
            f"{path}, line {line}: {column} is {shown!r}, which is no number. "
            "Use plain numbers with a decimal point, and delete lines where the gauge showed none."
        )
    return text


def _mark(path: Path, line: int, cell: str) -> bool:
    text = cell.strip()
    if text not in ("0", "1", ""):
        raise RecordingError(
            f"{path}, line {line}: index is {text[:40]!r}. "
            "It is 1 where the once-per-turn mark passed, else 0 or empty."
        )
    return text == "1"


def _finest_step(texts: Iterable[str]) -> Decimal:
    """The step of a gauge that showed these numbers, in their unit.

    The last decimal that was ever written, or so many of it as divide every number: gauges step
    in 1, 2 or 5 of their last digit (common practice, no source), and 0.0001 in or 0.00005 in
    written in millimetres is 254 or 127 of it. Only the numbers together tell, because trailing
    zeros may have been lost on the way into the file.
    """
    numbers = {Decimal(text.strip()).quantize(FINEST_STEP).normalize() for text in texts}
    exponent = min((int(n.as_tuple().exponent) for n in numbers if n), default=0)
    last_digit = Decimal(1).scaleb(min(exponent, 0))
    common = gcd(*(int(n / last_digit) for n in numbers))
    return last_digit * next((f for f in STEPS_IN_LAST_DIGIT if common and common % f == 0), 1)


class Replay:
    """A recording with the face of a gauge: the same `batches`.

    now, sleep: the clock handed in; readings come at the recording's own pace, and their times
    count from the moment the playing began.
    """

    def __init__(
        self,
        recording: Recording,
        name: str,
        now: Callable[[], float],
        sleep: Callable[[float], Awaitable[None]] = asyncio.sleep,
    ) -> None:
        self.name = name
        self.last: Reading | None = None
        self._recording = recording
        self._now = now
        self._sleep = sleep

    async def batches(self) -> AsyncGenerator[list[Reading], None]:
        """One reading a batch, each when its time has come; ends with the recording."""
        readings = self._recording.readings
        shift_s = self._now() - readings[0].t_s
        for reading in readings:
            t_s = on_time_grid(reading.t_s + shift_s)
            if (wait_s := t_s - self._now()) > 0:
                await self._sleep(wait_s)
            self.last = reading._replace(gauge=self.name, t_s=t_s)
            yield [self.last]
