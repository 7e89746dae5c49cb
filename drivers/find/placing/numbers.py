"""The number in binary frames: a float, decimal digits, or an integer, and how large it is.

A float says by itself how large it is. Digits and integers do so only where the frame holds the
number of decimals, too; without that nothing is chosen.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from drivers.find.placing.frames import STOP_BYTES_MAX, Columns, Frames
from drivers.find.placing.series import is_counter, moves, unevenness
from drivers.wires.floats import float32_decimal

VALUE_MAX = 1000
DECIMALS_OF_FLOAT_MAX = 4
DECIMAL_BORN_SHARE = 0.95
FLOAT_CELLS = 8
LOWEST_SHARE = 0.5  # of the values differ in the last byte, too
RAW_SPREAD = Decimal("0.1")  # of a float that was no decimal number, or it is no spindle
RAW_MIN, RAW_MAX = Decimal("0.01"), 100
INTEGER_BYTES_MAX = 4
SMOOTHER = 2
STX = 0x02
DIFFERENT_MIN = 8
FLIP_STEPS = 2  # a sign changes where the number is near zero: within so many of its usual steps
PLUS = {"0": "0", "b": "2b"}
MINUS = frozenset("18fd")
MAY_BE_MINUS = frozenset({"80", "08", "88", "0d", "0f", "f0", "ff", "8", "1", "d"})
PLUS_BYTES = frozenset({"2b", "2d", "20"})
BCD_DIGITS = 6
NO_SCALE = "the size of one count is not said in the frame"


@dataclass(frozen=True)
class Field:
    """Where something stands, in half bytes, and the order of its digits."""

    at: int
    digits: int
    order: str = "high-first"

    def covers(self) -> set[int]:
        """Its half bytes."""
        return set(range(self.at, self.at + self.digits))

    def text(self, cells: str) -> str:
        """Its digits, the highest first."""
        cut = cells[self.at : self.at + self.digits]
        if self.order == "low-first":
            return cut[::-1]
        if self.order == "low-byte-first":
            return "".join(cut[i : i + 2] for i in range(len(cut) - 2, -1, -2))
        return cut


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
    floats = list(_floats(frames, columns))
    if len(floats) == 1:
        return floats[0], ""
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
    signed = _signed(frames, columns, field, counts, kind)
    if signed is None:
        return None, "something in the frames may be the sign, and nobody says what it means"
    sign, plus, minus, factors = signed
    if not _high_digits_seen(frames, columns, field, kind, sign):
        return None, "what stands beside the number may be its highest digits"
    values = tuple(Decimal(c * f).scaleb(-places) for c, f in zip(counts, factors, strict=True))
    if not moves(values) or max(map(abs, values)) >= VALUE_MAX or is_counter(counted):
        return None, "what changes in the frames is no plausible length"
    if sign is not None and kind == "bcd" and field.order == "high-first":
        field = _up_to_sign(frames, columns, field, sign)
    return Number(kind, field, values, sign, plus, minus, decimals), ""


def _floats(frames: Frames, columns: Columns) -> Iterator[Number]:
    if frames.per_byte != 2:
        return
    for at in range(0, 2 * frames.size - FLOAT_CELLS + 1, 2):
        for order in ("high-first", "low-byte-first"):
            field = Field(at, FLOAT_CELLS, order)
            covers = field.covers()
            if not (columns.busy | columns.two) <= covers or covers & frames.checked():
                continue
            text = [field.text(row) for row in columns.cells]
            values = [float32_decimal(bytes.fromhex(digits)) for digits in text]
            told = [
                v
                for v, digits in zip(values, text, strict=True)
                if v is not None and abs(v) < VALUE_MAX and (v or digits.strip("08") == "")
            ]
            if len(told) < len(text) or not moves(told):
                continue
            # One that was no decimal number before shows it in its last digits.
            lowest = {digits[-2:] for digits in text}
            if len(lowest) < LOWEST_SHARE * len(set(told)):
                continue
            largest = max(map(abs, told))
            raw = (
                at and RAW_MIN < largest < RAW_MAX and max(told) - min(told) > RAW_SPREAD * largest
            )
            if raw or _born_decimal(told):
                yield Number("float", field, tuple(told))


def _born_decimal(values: Sequence[Decimal]) -> bool:
    """Whether nearly all have few decimals, which no other bytes give when read as floats."""
    born = sum(-int(v.as_tuple().exponent) <= DECIMALS_OF_FLOAT_MAX for v in values)
    return born >= DECIMAL_BORN_SHARE * len(values)


Found = tuple[str, Field, list[int]]


def _only_digits(columns: Columns) -> bool:
    first, last = min(columns.busy), max(columns.busy)
    return all(c in "0123456789" for row in columns.cells for c in row[first : last + 1])


def _digits(frames: Frames, columns: Columns) -> Found | None:
    """Decimal digits: so many different ones that it is no chance."""
    first, last = min(columns.busy), max(columns.busy)
    if len({row[first : last + 1] for row in columns.cells}) < DIFFERENT_MIN:
        return None
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


def _up_to_sign(frames: Frames, columns: Columns, field: Field, sign: Field) -> Field:
    """Digits between sign and number that were always 0 so far."""
    first = sign.at + (1 if frames.per_byte == 1 else 2 - sign.at % 2)
    between = columns.fixed(first, field.at - first) if first < field.at else None
    if between is None or set(between) != {"0"}:
        return field
    return Field(first, field.digits + field.at - first, field.order)


Signed = tuple[Field | None, int, int, list[int]]


def _signed(
    frames: Frames, columns: Columns, field: Field, counts: Sequence[int], kind: str
) -> Signed | None:
    """The sign apart from the number, if one changes; None where a flag is not understood."""
    flags = sorted(columns.two - field.covers())
    if not flags:
        return _standing_sign(frames, columns, field, counts, kind)
    if len(flags) > 1:
        return None
    at = flags[0]
    plus = [v for v in columns.values(at) if v in PLUS]
    minus = [v for v in columns.values(at) if v in MINUS]
    if len(plus) != 1 or len(minus) != 1 or not _flips_near_zero(columns, at, counts):
        return None
    factors = [1 if row[at] == plus[0] else -1 for row in columns.cells]
    return Field(at, 1), int(plus[0], 16), int(minus[0], 16), factors


def _standing_sign(
    frames: Frames, columns: Columns, field: Field, counts: Sequence[int], kind: str
) -> Signed | None:
    """The sign never changed: a minus is believed only as the character, others are in doubt."""
    plain = None, 0, 0, [1] * len(counts)
    if kind == "signed":
        return plain
    width = frames.per_byte
    at = field.at - width
    while at >= width and columns.fixed(at, width) == "0" * width:
        at -= width
    before = columns.fixed(at, width) if at >= width else None
    if before == "2d":
        return Field(at + 1, 1), 0xB, 0xD, [-1] * len(counts)
    return None if before in MAY_BE_MINUS else plain


def _flips_near_zero(columns: Columns, at: int, counts: Sequence[int]) -> bool:
    pairs = list(zip(pairwise(columns.cells), pairwise(counts), strict=True))
    usual = [abs(b - a) for (x, y), (a, b) in pairs if x[at] == y[at]]
    flips = [a + b for (x, y), (a, b) in pairs if x[at] != y[at]]
    if not usual or max(flips) > FLIP_STEPS * max(usual):
        return False
    # A digit that is 1 from ten on flips as well, but then there is a smoother way to read it.
    tens: int = 10 ** len(str(max(counts)))
    carried = [a - b if x[at] > y[at] else b - a for (x, y), (a, b) in pairs if x[at] != y[at]]
    return sum(flips) * SMOOTHER <= sum(abs(tens + step) for step in carried)
