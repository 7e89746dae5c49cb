"""The number in binary frames: a float, decimal digits, or an integer, and how large it is.

A float says by itself how large it is. Digits and integers do so only where the frame holds the
number of decimals, too; without that nothing is chosen.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from drivers.find.placing.frames import Columns, Frames
from drivers.find.placing.series import is_counter, moves, unevenness
from drivers.wires.floats import float32_decimal

VALUE_MAX = 1000
DECIMALS_OF_FLOAT_MAX = 4
DECIMAL_BORN_SHARE = 0.95
FLOAT_CELLS = 8
SMALLEST = Decimal("0.000001")
INTEGER_BYTES_MAX = 4
SMOOTHER = 2
FLIP_STEPS = 2  # a sign changes where the number is near zero: within so many of its usual steps
PLUS = {"0": "0", "b": "2b"}
MINUS = frozenset("18fd")
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
    found = _digits(frames, columns) or _integer(frames, columns)
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
    signed = _signed(columns, field, counts)
    if signed is None:
        return None, "a flag in the frames changes, and nobody says what it means"
    sign, plus, minus, factors = signed
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
            if not (columns.busy | columns.two) <= field.covers():
                continue
            values = [float32_decimal(bytes.fromhex(field.text(row))) for row in columns.cells]
            told = [v for v in values if v is not None and abs(v) < VALUE_MAX]
            if len(told) == len(columns.cells) and _plausible(told):
                yield Number("float", field, tuple(told))


def _plausible(values: Sequence[Decimal]) -> bool:
    """Born as decimal numbers, or at least of the size and evenness of a length."""
    if not moves(values):
        return False
    born = sum(-int(v.as_tuple().exponent) <= DECIMALS_OF_FLOAT_MAX for v in values)
    if born >= DECIMAL_BORN_SHARE * len(values):
        return True
    largest = max(map(abs, values))
    return largest > Decimal("0.01") and all(v == 0 or abs(v) > SMALLEST for v in values)


Found = tuple[str, Field, list[int]]


def _digits(frames: Frames, columns: Columns) -> Found | None:
    """Decimal digits: all that changes is at most 9."""
    first, last = min(columns.busy), max(columns.busy)
    if any(c not in "0123456789" for row in columns.cells for c in row[first : last + 1]):
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
    while kind == "bcd" and field.order == "high-first" and columns_zero(columns, behind):
        behind += 1
    if behind < len(columns.cells[0]) and columns.fixed(behind, 1) in ("2", "3", "4"):
        return Field(behind, 1)
    width = frames.per_byte
    if width == 1:
        return None
    taken = field.covers() | frames.checked()
    threes = [
        at + width - 1
        for at in range(width, len(columns.cells[0]) - width + 1, width)
        if columns.fixed(at, width) == "03" and at not in taken
    ]
    return Field(threes[0], 1) if len(threes) == 1 else None


def columns_zero(columns: Columns, at: int) -> bool:
    """Whether a half byte is always 0."""
    return at < len(columns.cells[0]) and columns.fixed(at, 1) == "0"


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


def _up_to_sign(frames: Frames, columns: Columns, field: Field, sign: Field) -> Field:
    """Digits between sign and number that were always 0 so far."""
    first = sign.at + (1 if frames.per_byte == 1 else 2 - sign.at % 2)
    between = columns.fixed(first, field.at - first) if first < field.at else None
    if between is None or set(between) != {"0"}:
        return field
    return Field(first, field.digits + field.at - first, field.order)


Signed = tuple[Field | None, int, int, list[int]]


def _signed(columns: Columns, field: Field, counts: Sequence[int]) -> Signed | None:
    """The sign apart from the number, if one changes; None where a flag is not understood."""
    flags = sorted(columns.two - field.covers())
    if not flags:
        return None, 0, 0, [1] * len(counts)
    if len(flags) > 1:
        return None
    at = flags[0]
    plus = [v for v in columns.values(at) if v in PLUS]
    minus = [v for v in columns.values(at) if v in MINUS]
    if len(plus) != 1 or len(minus) != 1 or not _flips_near_zero(columns, at, counts):
        return None
    factors = [1 if row[at] == plus[0] else -1 for row in columns.cells]
    return Field(at, 1), int(plus[0], 16), int(minus[0], 16), factors


def _flips_near_zero(columns: Columns, at: int, counts: Sequence[int]) -> bool:
    pairs = list(zip(pairwise(columns.cells), pairwise(counts), strict=True))
    usual = [abs(b - a) for (x, y), (a, b) in pairs if x[at] == y[at]]
    flips = [a + b for (x, y), (a, b) in pairs if x[at] != y[at]]
    return bool(usual) and max(flips) <= FLIP_STEPS * max(usual)
