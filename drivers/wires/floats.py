"""Binary floats as the decimal number that was meant."""

import struct
from decimal import Decimal
from math import isfinite

from drivers.wires.base import DECIMALS_MAX

FLOAT_BYTES = 4
_DIGITS_MAX = 9  # so many significant digits tell every 32-bit float from its neighbours
_GRID = Decimal(1).scaleb(-DECIMALS_MAX)
_LIMIT = 10.0**9


def float32_decimal(data: bytes) -> Decimal | None:
    """The shortest decimal number that IEEE 754 binary32 `data`, highest byte first, stands for.

    1.234 is not held exactly by such a float; a gauge that sends its float meant 1.234. At most
    six decimals are kept. None for what is no number, or larger than any gauge's.
    """
    (value,) = struct.unpack(">f", data)
    if not isfinite(value) or abs(value) >= _LIMIT:
        return None
    for digits in range(1, _DIGITS_MAX + 1):
        text = f"{value:.{digits}g}"
        if struct.pack(">f", float(text)) == data:
            break
    return Decimal(text).quantize(_GRID).normalize()
