"""The sign of a number in binary frames, where it stands apart from it."""

from collections.abc import Sequence
from itertools import pairwise

from drivers.find.placing.field import Field
from drivers.find.placing.frames import Columns, Frames

SMOOTHER = 2
FLIP_STEPS = 2  # a sign changes where the number is near zero: within so many of its usual steps
PLUS = frozenset("0b")
NEAR_SHARE_MIN = 0.75
MINUS = frozenset("18fd")
MAY_BE_MINUS = frozenset({"80", "08", "88", "0d", "0f", "f0", "ff", "8", "1", "d"})

Signed = tuple[Field | None, int, int, list[int]]


def signed_by(
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
    """A sign changes where the number is near zero; now and then a gauge may jump."""
    pairs = list(zip(pairwise(columns.cells), pairwise(counts), strict=True))
    usual = [abs(b - a) for (x, y), (a, b) in pairs if x[at] == y[at]]
    flips = [(a, b, x[at] > y[at]) for (x, y), (a, b) in pairs if x[at] != y[at]]
    if not usual:
        return False
    near = [flip for flip in flips if flip[0] + flip[1] <= FLIP_STEPS * max(usual)]
    if len(near) < NEAR_SHARE_MIN * len(flips):
        return False
    # A digit that is 1 from ten on flips as well, but then there is a smoother way to read it.
    tens: int = 10 ** len(str(max(counts)))
    as_sign = sum(a + b for a, b, _ in near)
    as_digit = sum(abs(tens + (a - b if down else b - a)) for a, b, down in near)
    return as_sign * SMOOTHER <= as_digit


def up_to_sign(frames: Frames, columns: Columns, field: Field, sign: Field) -> Field:
    """Digits between sign and number that were always 0 so far."""
    first = sign.at + (1 if frames.per_byte == 1 else 2 - sign.at % 2)
    between = columns.fixed(first, field.at - first) if first < field.at else None
    if between is None or set(between) != {"0"}:
        return field
    return Field(first, field.digits + field.at - first, field.order)
