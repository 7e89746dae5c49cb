"""Where binary frames begin and end, and what changes in them from one to the next."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from drivers.find.placing.checks import Check, check_of
from drivers.find.placing.split import Sound, Split
from drivers.wires.frame import half_bytes

FRAMES_MIN = 5
SIZE_MIN, SIZE_MAX = 3, 40
SHARE_MIN = 0.8
COUNTER_SHARE_MIN = 0.8
BUSY_VALUES_MIN = 3
STOP_BYTES_MAX = 2

_HEX = frozenset("0123456789abcdefABCDEF")


@dataclass(frozen=True)
class Frames:
    """Frames of one size.

    rows: their bytes. packing: how half bytes lie in them, as in a profile. check: their checksum.
    """

    rows: tuple[bytes, ...]
    packing: str
    check: Check | None

    @property
    def size(self) -> int:
        """Bytes of a frame."""
        return len(self.rows[0])

    @property
    def per_byte(self) -> int:
        """Half bytes that a byte holds."""
        return 2 if self.packing == "high-first" else 1

    def cells(self) -> list[str]:
        """The half bytes of each frame."""
        return [half_bytes(row, self.packing) for row in self.rows]

    def checked(self) -> set[int]:
        """The half bytes that the checksum takes."""
        if self.check is None:
            return set()
        end = self.size - self.check.behind
        return set(range(2 * (end - self.check.size()), 2 * end))


def frames_of(sound: Sound, split: Split | None) -> Iterator[Frames]:
    """Frames by the pauses between them, by their checksum, or lines of hexadecimal digits.

    split: how text was split, where there is text.
    """
    if split is not None and (lines := _hex_lines(sound, split)) is not None:
        yield Frames(lines, "hex-text", None)
    paused = list(_by_pauses(sound))
    for rows in paused:
        yield _of(rows)
    if not paused:
        yield from _by_checksum(sound)


def _of(rows: tuple[bytes, ...]) -> Frames:
    small = all(byte < 16 for row in rows for byte in row)
    messages = [row.decode("latin-1") for row in rows]
    ends = [messages[0][-size:] for size in range(1, STOP_BYTES_MAX + 1)]
    check = None if small else check_of(messages, ends, low_first=True)
    if check is not None and check.in_hex:
        check = None  # that is text
    return Frames(rows, "one-a-byte" if small else "high-first", check)


def _hex_lines(sound: Sound, split: Split) -> tuple[bytes, ...] | None:
    sizes = Counter(len(message) for message in split.messages)
    if split.end or split.chars or len(split.messages) < FRAMES_MIN:
        return None
    size, count = sizes.most_common(1)[0]
    lines = [m for m in split.messages if len(m) == size and set(m) <= _HEX]
    if count < SHARE_MIN * len(split.messages) or len(lines) < count or size < 2 * SIZE_MIN:
        return None
    after = sound.text.find(lines[-1]) + size
    end = sound.text[after : after + 2]
    stop = end if end in ("\r\n", "\n\r") else end[:1]
    return tuple((line + stop).encode("latin-1") for line in lines)


def _by_pauses(sound: Sound) -> Iterator[tuple[bytes, ...]]:
    spans = list(pairwise((*sound.starts, len(sound.data))))
    if not sound.whole_start:
        spans = spans[1:]
    if len(spans) < FRAMES_MIN:
        return
    size = Counter(b - a for a, b in spans).most_common(1)[0][0]
    # On a busy computer several frames may come at once.
    whole = [(a, b) for a, b in spans if (b - a) % size == 0]
    if SIZE_MIN <= size <= SIZE_MAX and len(whole) >= SHARE_MIN * len(spans):
        yield tuple(sound.data[at : at + size] for a, b in whole for at in range(a, b, size))


def _by_checksum(sound: Sound) -> Iterator[Frames]:
    """Without pauses only a checksum proves where frames begin."""
    for size in range(SIZE_MIN + 1, SIZE_MAX + 1):
        if len(sound.data) < FRAMES_MIN * size:
            return
        for phase in range(size):
            last = len(sound.data) - size
            rows = tuple(sound.data[at : at + size] for at in range(phase, last + 1, size))
            if len({row[0] for row in rows}) == 1:
                frames = _of(rows)
                if frames.check is not None:
                    yield frames
                    return


@dataclass(frozen=True)
class Columns:
    """What changes in the cells of all frames.

    busy: half bytes with many values. two: half bytes with two values, which are flags or a sign.
    Those of checksum and counters are in neither.
    """

    cells: list[str]
    busy: set[int]
    two: set[int]

    def values(self, at: int) -> set[str]:
        """What stands at a half byte."""
        return {row[at] for row in self.cells}

    def fixed(self, at: int, digits: int) -> str | None:
        """The text of a field that never changes, else None."""
        texts = {row[at : at + digits] for row in self.cells}
        return texts.pop() if len(texts) == 1 else None


def columns_of(frames: Frames) -> Columns:
    """Sort the half bytes of the frames by how they change."""
    cells = frames.cells()
    left_out = frames.checked() | _counters(frames)
    counts = {at: len({row[at] for row in cells}) for at in range(len(cells[0]))}
    busy = {at for at, n in counts.items() if n >= BUSY_VALUES_MIN and at not in left_out}
    two = {at for at, n in counts.items() if n == 2 and at not in left_out}
    return Columns(cells, busy, two)


def _counters(frames: Frames) -> set[int]:
    """Half bytes of bytes that go up by the same step from frame to frame."""
    found = set()
    for at in range(frames.size):
        steps = Counter((b[at] - a[at]) % 256 for a, b in pairwise(frames.rows))
        step, count = steps.most_common(1)[0]
        if step and count >= COUNTER_SHARE_MIN * (len(frames.rows) - 1):
            found |= set(range(frames.per_byte * at, frames.per_byte * (at + 1)))
    return found
