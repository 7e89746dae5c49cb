"""Floats in binary frames: the only numbers that say by themselves how large they are."""

from collections.abc import Iterator, Sequence
from decimal import Decimal

from drivers.find.placing.field import Field
from drivers.find.placing.frames import Columns, Frames
from drivers.find.placing.series import moves
from drivers.wires.floats import float32_decimal

VALUE_MAX = 1000
DECIMALS_OF_FLOAT_MAX = 4
DECIMAL_BORN_SHARE = 0.95
FLOAT_CELLS = 8
LOWEST_SHARE = 0.5  # of the values differ in the last byte, too
RAW_SPREAD = Decimal("0.1")  # of a float that was no decimal number, or it is no spindle
RAW_MIN, RAW_MAX = Decimal("0.01"), 100

Float = tuple[Field, tuple[Decimal, ...]]


def floats_in(frames: Frames, columns: Columns) -> Iterator[Float]:
    """Every place and order that reads as a float which a spindle may move."""
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
                yield field, tuple(told)


def _born_decimal(values: Sequence[Decimal]) -> bool:
    """Whether nearly all have few decimals, which no other bytes give when read as floats."""
    born = sum(-int(v.as_tuple().exponent) <= DECIMALS_OF_FLOAT_MAX for v in values)
    return born >= DECIMAL_BORN_SHARE * len(values)
