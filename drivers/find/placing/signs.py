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
MAY_BE_MINUS = frozenset(
    {"80", "08", "88", "01", "10", "11", "40", "0b", "0d", "0f", "b0", "d0", "f0", "ff"}
    | {"8", "1", "b", "d", "f"}
)
MAY_BE_MINUS_BESIDE = frozenset("1248bdf")

Signed = tuple[Field | None, int, int, list[int]]


def signed_by(
    frames: Frames,
    columns: Columns,
    number: tuple[str, Field, Sequence[int]],
    decimals: Field,
) -> Signed | None:
    """The sign apart from the number, if one changes; None where a flag is not understood.

    number: its kind, place and counts.
    """
    kind, field, counts = number
    flags = sorted(columns.two - field.covers())
    if not flags:
        if kind == "signed":
            return None, 0, 0, [1] * len(counts)
        return _standing_sign(frames, columns, field, counts, decimals)
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
    frames: Frames, columns: Columns, field: Field, counts: Sequence[int], decimals: Field
) -> Signed | None:
    """The sign never changed: a minus is believed only as the character, others are in doubt."""
    width = frames.per_byte
    at = _beside(columns, field.at - width, -width, width)
    if at is not None and columns.fixed(at, width) == "2d":
        return Field(at + 1, 1), 0xB, 0xD, [-1] * len(counts)
    behind = _beside(columns, field.at + field.digits, width, width)
    for place in (at, behind):
        if place is None or place in frames.checked():
            continue
        cells = set(range(place, place + width)) - decimals.covers()
        said = "".join(columns.fixed(cell, 1) or "" for cell in sorted(cells))
        # The half byte that shares a byte with the decimals may be the sign as well.
        if said in (MAY_BE_MINUS if len(cells) == width else MAY_BE_MINUS_BESIDE):
            return None
    return None, 0, 0, [1] * len(counts)


def _beside(columns: Columns, at: int, step: int, width: int) -> int | None:
    """The first byte beside the number that is not 0, but for the first of the frame."""
    while width <= at <= len(columns.cells[0]) - width:
        if columns.fixed(at, width) != "0" * width:
            return at
        at += step
    return None


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
