"""Figures that a plan gives in inches: `upper_in` for `upper`, `depth_in` for `depth_mm`.

The core works in millimetres and 1 in is exactly 25.4 mm (NIST SP 811, from memory). Where a page
prints a figure in both, the two are compared, because printed manuals carry slips: 0.006 in stands
as 0.015 mm in one and 0.003 in as 0.760 mm in another (TM 9-4310-397-14; an engine maker).
"""

from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from typing import Any

MM_PER_INCH = Decimal("25.4")
NUMBER_MOST = 10**9


def in_mm(given: Any, *names: str) -> Any:
    """`given` with every `NAME_in` turned into its `NAME_mm` (or bare NAME, where that is the key).

    Raises ValueError where both are given: which one is meant has to be said.
    """
    if not isinstance(given, dict):
        return given
    found = dict(given)
    for name in names:
        inch = f"{name.removesuffix('_mm')}_in"
        if inch not in found:
            continue
        if name in found:
            raise ValueError(f"{name!r} and {inch!r} are both given; give one of them")
        found[name] = _converted(found.pop(inch), inch)
    return found


def _converted(value: Any, key: str) -> Any:
    if isinstance(value, list | tuple):
        return [_converted(each, key) for each in value]
    return (number_of(value, key) * MM_PER_INCH).normalize() + Decimal(0)


def number_of(value: Any, key: str) -> Decimal:
    """The finite number that `value` spells. Raises ValueError naming `key`."""
    try:
        number = Decimal(str(value))
    except InvalidOperation:
        number = Decimal("NaN")
    if not number.is_finite() or abs(number) > NUMBER_MOST:
        raise ValueError(f"{key} is {str(value)[:24]!r}, which is not a plain decimal number")
    return number


def disagreement(inch: Decimal, mm: Decimal) -> str:
    """What is wrong with a figure printed as `inch` and as `mm`; "" when each rounds to the other.

    One of the two was converted from the other and rounded to its last printed digit, so they
    may differ by half a digit of either.
    """
    from_inch, from_mm = inch * MM_PER_INCH, mm / MM_PER_INCH
    if _rounds_to(from_inch, mm) or _rounds_to(from_mm, inch):
        return ""
    ratio = mm / from_inch if from_inch else Decimal(0)
    slip = next((f" ({text})" for factor, text in _SLIPS if abs(ratio / factor - 1) < _NEAR), "")
    right = from_inch.quantize(Decimal("0.0001"), ROUND_HALF_UP).normalize() + Decimal(0)
    return f"{inch} in is {right:f} mm, not {mm} mm{slip}; look at the page again"


_NEAR = Decimal("0.03")
_SLIPS = (
    (Decimal("0.1"), "a decimal point?"),
    (Decimal(10), "a decimal point?"),
    (Decimal("0.01"), "a decimal point?"),
    (Decimal(100), "a decimal point?"),
    (1 / MM_PER_INCH, "the inch figure in the place of the mm?"),
    (Decimal(1000), "µm for mm?"),
)


def _rounds_to(exact: Decimal, printed: Decimal) -> bool:
    """Within half of the last printed digit; a half may have been rounded either way."""
    half = Decimal(1).scaleb(int(printed.as_tuple().exponent)) / 2
    return abs(exact - printed) <= half
