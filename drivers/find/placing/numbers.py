"""The number in binary frames: a float, decimal digits, or an integer, and how large it is.

A float says by itself how large it is. Digits and integers do so only where the frame holds the
number of decimals, too; without that nothing is chosen.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from drivers.find.placing.field import Field
from drivers.find.placing.floats import VALUE_MAX, floats_in
from drivers.find.placing.frames import STOP_BYTES_MAX, Columns, Frames
from drivers.find.placing.series import is_counter, moves, unevenness
from drivers.find.placing.signs import signed_by, up_to_sign

INTEGER_BYTES_MAX = 4
SMOOTHER = 2
STX = 0x02
DIFFERENT_MIN = 8
PLUS_BYTES = frozenset({"2b", "2d", "20"})
BCD_DIGITS = 6
NO_SCALE = "the size of one count is not said in the frame"


@dataclass(frozen=True)
class Number:
    """A reading of the frames. sign: where it stands apart, with its plus digit.

    values: signed, in the unit spoken. decimals: the field that says how many, None for a float.
    """

    kind: str
    field: Field
    values: tuple[Decimal, ...]
    sign: Field | None = None
    plus: int = 0
    minus: int = 0
    decimals: Field | None = None


def number_of(frames: Frames, columns: Columns) -> tuple[Number | None, str]:
    """The only number that explains what changes, and why there is none."""
    if not columns.busy:
        return None, "nothing in the frames changes enough to be a measured number"
    floats = list(floats_in(frames, columns))
    if len(floats) == 1:
        return Number("float", *floats[0]), ""
    if len(floats) > 1:
        return None, f"{len(floats)} places in the frames may hold the measured number"
    # Where nothing but decimal digits changes it is no integer, even if their order is unclear.
    all_digits = _only_digits(columns)
    found = _digits(frames, columns) if all_digits else _integer(frames, columns)
    if found is None:
        return None, "what changes in the frames is not understood"
    kind, field, counts = found
    decimals = _decimals(frames, columns, field, kind)
    if decimals is None:
        return None, NO_SCALE
    field = _with_trailing_zeros(columns, field, decimals)
    counts = [_count(kind, field.text(row)) for row in columns.cells]
    counted = [Decimal(count) for count in counts]
    places = int(columns.cells[0][decimals.at], 16)
    signed = signed_by(frames, columns, (kind, field, counts), decimals)
    if signed is None:
        return None, "something in the frames may be the sign, and nobody says what it means"
    sign, plus, minus, factors = signed
    if not _high_digits_seen(frames, columns, field, kind, sign):
        return None, "what stands beside the number may be its highest digits"
    values = tuple(Decimal(c * f).scaleb(-places) for c, f in zip(counts, factors, strict=True))
    if not moves(values) or max(map(abs, values)) >= VALUE_MAX or is_counter(counted):
        return None, "what changes in the frames is no plausible length"
    if sign is not None and kind == "bcd" and field.order == "high-first":
        field = up_to_sign(frames, columns, field, sign)
    return Number(kind, field, values, sign, plus, minus, decimals), ""


Found = tuple[str, Field, list[int]]


def _only_digits(columns: Columns) -> bool:
    first, last = min(columns.busy), max(columns.busy)
    return all(c in "0123456789" for row in columns.cells for c in row[first : last + 1])


def _digits(frames: Frames, columns: Columns) -> Found | None:
    """Decimal digits: so many different ones that it is no chance."""
    first, last = min(columns.busy), max(columns.busy)
    if len({row[first : last + 1] for row in columns.cells}) < DIFFERENT_MIN:
        return None
    if frames.per_byte == 2 and first // 2 == last // 2:
        return None  # a single byte may be an integer that had no digit above 9 so far
    if frames.per_byte == 2:
        first, last = first - first % 2, last + 1 - last % 2
    best: list[tuple[Decimal, Found]] = []
    for order in ("high-first", "low-byte-first", "low-first"):
        digits = last - first + 1
        if order == "low-byte-first" and (frames.per_byte != 2 or digits % 2):
            continue
        field = Field(first, digits, order)
        text = [field.text(row) for row in columns.cells]
        if any(not t.isdecimal() for t in text):
            continue
        counts = [int(t) for t in text]
        best.append((_path(counts), ("bcd", field, counts)))
    return _clearly_best(best)


def _integer(frames: Frames, columns: Columns) -> Found | None:
    if frames.per_byte != 2:
        return None
    changing = columns.busy | columns.two
    first, last = min(changing) // 2, max(changing) // 2
    if last - first >= INTEGER_BYTES_MAX:
        return None
    best: list[tuple[Decimal, Found]] = []
    for order in ("high-first", "low-byte-first"):
        field = _sign_extended(frames, first, last, order)
        text = [field.text(row) for row in columns.cells]
        for kind in ("signed", "unsigned"):
            counts = [_count(kind, t) for t in text]
            best.append((_path(counts), (kind, field, counts)))
    return _clearly_best(best)


def _sign_extended(frames: Frames, first: int, last: int, order: str) -> Field:
    """With the high bytes that only repeat the sign, up to four bytes in all."""
    high_first = order == "high-first"
    while last - first + 1 < INTEGER_BYTES_MAX:
        high, at = (first, first - 1) if high_first else (last, last + 1)
        if not 0 <= at < frames.size or {2 * at, 2 * at + 1} & frames.checked():
            break
        if not all(row[at] == (0xFF if row[high] & 0x80 else 0) for row in frames.rows):
            break
        first, last = min(first, at), max(last, at)
    return Field(2 * first, 2 * (last - first + 1), order)


def _count(kind: str, text: str) -> int:
    if kind == "bcd":
        return int(text)
    value = int(text, 16)
    return value - (1 << 4 * len(text)) if kind == "signed" and int(text[0], 16) > 7 else value


def _path(counts: Sequence[int]) -> Decimal:
    """How far it wanders in all: little for a spindle, much for swapped digits."""
    return unevenness([Decimal(c) for c in counts])


def _clearly_best(found: list[tuple[Decimal, Found]]) -> Found | None:
    """The evenest; those that read the same numbers are no rivals."""
    if not found:
        return None
    best = min(found, key=lambda entry: entry[0])
    rivals = [path for path, other in found if other[2] != best[1][2]]
    return best[1] if all(path >= SMOOTHER * best[0] for path in rivals) else None


def _decimals(frames: Frames, columns: Columns, field: Field, kind: str) -> Field | None:
    """The half byte that says how many decimals there are.

    Right behind the number it may say 2, 3 or 4. Elsewhere only a single 3 is believed, which is
    what most gauges show anyway.
    """
    behind = field.at + field.digits
    width = frames.per_byte
    if kind == "bcd":
        size = 1 if field.order == "high-first" else width
        while columns.fixed(behind, size) == "0" * size:
            behind += size
        if width == 2 and field.order != "high-first" and columns.fixed(behind, 1) == "0":
            behind += 1
    elif columns.fixed(behind, 1) == "0":
        behind += 1
    inside = width == 1 or behind % 2 == 1
    if inside and columns.fixed(behind, 1) in ("2", "3", "4") and not _is_end(frames, behind):
        return Field(behind, 1)
    if width == 1:
        return None
    taken = field.covers() | frames.checked()
    threes = [
        at + 1
        for at in range(2, len(columns.cells[0]) - 1, 2)
        if columns.fixed(at, 2) == "03" and at not in taken and not _is_end(frames, at + 1)
    ]
    return Field(threes[0], 1) if len(threes) == 1 else None


def _is_end(frames: Frames, at: int) -> bool:
    """Whether a 3 is ETX: one of the last bytes, or the last before the checksum behind STX."""
    byte = at // frames.per_byte
    if frames.check is None:
        return byte >= frames.size - STOP_BYTES_MAX + (frames.rows[0][-1:] not in b"\r\n")
    end = frames.size - frames.check.behind
    last = end - frames.check.size() - 1
    return byte >= end or (byte == last and frames.rows[0][0] == STX)


def _with_trailing_zeros(columns: Columns, field: Field, decimals: Field) -> Field:
    """Digits that are always 0 behind the number belong to it when the decimals follow them."""
    end = field.at + field.digits
    if not end < decimals.at:
        return field
    zeros = columns.fixed(end, decimals.at - end)
    # An even number of half bytes ends with the decimals' own byte: 0 and the digit.
    if zeros is None or set(zeros) != {"0"} or (end % 2 == 0 and len(zeros) == 1):
        return field
    return Field(field.at, decimals.at - field.at, field.order) if len(zeros) == 1 else field


def _high_digits_seen(
    frames: Frames, columns: Columns, field: Field, kind: str, sign: Field | None
) -> bool:
    """Whether nothing fixed on the high side can be digits that have not changed yet."""
    width = frames.per_byte
    steps = [-width] if field.order == "high-first" else [width]
    if field.digits <= 2:  # a single byte shows no order
        steps = [-width, width]
    return all(_side_seen(frames, columns, field, kind, sign, step) for step in steps)


def _side_seen(
    frames: Frames, columns: Columns, field: Field, kind: str, sign: Field | None, step: int
) -> bool:
    width = frames.per_byte
    room = (BCD_DIGITS if kind == "bcd" else 2 * INTEGER_BYTES_MAX) - field.digits
    at = field.at - width if step < 0 else field.at + field.digits
    while room > 0 and width <= at <= len(columns.cells[0]) - width:
        text = columns.fixed(at, width)
        if sign is not None and sign.at in range(at, at + width):
            return True
        if text is None or text in PLUS_BYTES or at in frames.checked():
            return True
        if text != "0" * width:
            return not text.isdecimal() if kind == "bcd" else False
        at += step
        room -= width
    return True
