"""Numbers as people and software hand them over: exact decimals with a unit, refused when vague.

Unit codes are UCUM; the plain spellings that people type are taken too.
"""

import re
from decimal import ROUND_HALF_EVEN, Decimal

from daq.head.errors import RefusedError

_NUMBER = re.compile(r"[+-]?[0-9]{1,9}(?:\.[0-9]{1,9})?")
_SHOWN_CHARS = 24

# factor to the canonical unit, and that unit
_UNITS: dict[str, tuple[Decimal, str]] = {
    "mm": (Decimal(1), "mm"),
    "um": (Decimal("0.001"), "mm"),
    "µm": (Decimal("0.001"), "mm"),
    "in": (Decimal("25.4"), "mm"),
    "[in_i]": (Decimal("25.4"), "mm"),
    "[mil_i]": (Decimal("0.0254"), "mm"),
    "deg": (Decimal(1), "deg"),
    "mbar": (Decimal(1), "mbar"),
    "mbar/s": (Decimal(1), "mbar/s"),
    "mbar.l/s": (Decimal(1), "mbar.l/s"),
    "lbf": (Decimal("4.4482216152605"), "N"),
    "[lbf_av]": (Decimal("4.4482216152605"), "N"),
    "N": (Decimal(1), "N"),
    "Cel": (Decimal(1), "Cel"),
    "1": (Decimal(1), "1"),
}
# A torque wrench on a spring tester shows a moment, not the load: one manual prints 54-62 lb-ft for
# a spring force (TM 5-2420-222-34); the length of the tester's arm makes it a load.
_TORQUES = frozenset({"Nm", "N.m", "N·m", "lb-ft", "lbf.ft", "ft-lb", "lb.ft"})
_FINEST = Decimal("1e-9")
LENGTH_DECIMALS_MAX = 6  # a nanometre: far below any gauge, so a conversion never loses a digit


def decimal_from(text: str, what: str) -> Decimal:
    """The exact decimal that `text` spells; `what` names it in the sentence when it does not.

    Taken: an optional sign, up to nine digits, and up to nine decimals after a point.
    Raises RefusedError for a comma, an exponent, NaN, infinity, or anything longer.
    """
    text = text.strip()
    if _NUMBER.fullmatch(text):
        return Decimal(text)
    shown = text if len(text) <= _SHOWN_CHARS else text[:_SHOWN_CHARS] + "…"
    if re.fullmatch(r"[+-]?[0-9]+,[0-9]+", text) and len(text) <= _SHOWN_CHARS:
        raise RefusedError(
            f"{what} is written {shown!r} with a comma; write it with a point: "
            f"{text.replace(',', '.')!r}"
        )
    raise RefusedError(
        f"{what} is {shown!r}, which is not a plain decimal number; write it like '-0.025' "
        "(at most nine digits on either side of the point, no exponent)"
    )


def canonical(value: Decimal, unit: str, *, expected: str) -> Decimal:
    """`value` in the unit the core works in, which must be `expected` for this characteristic.

    Raises RefusedError for an unknown unit or one of another kind of quantity.
    """
    if unit in _TORQUES and expected == "N":
        raise RefusedError(
            f"{unit!r} is a torque, not a load: divide what the torque wrench shows by the length "
            "of the tester's arm, and give it in N or lbf"
        )
    if unit not in _UNITS:
        known = ", ".join(sorted(_UNITS))
        raise RefusedError(f"the unit {unit!r} is not known; known are {known}")
    factor, target = _UNITS[unit]
    if target != expected:
        raise RefusedError(f"a value in {unit!r} cannot stand for one in {expected!r}")
    if factor == 1:
        return value
    return (value * factor).quantize(_FINEST, ROUND_HALF_EVEN).normalize() + Decimal(0)


def rounded(value: float, step: float) -> Decimal:
    """`value` as a decimal with one digit more than a gauge step of `step` needs.

    One guard digit keeps the rounding out of the uncertainty; more would pretend to knowledge.
    """
    digits = max(0, min(LENGTH_DECIMALS_MAX, 1 - Decimal(repr(step)).adjusted()))
    return Decimal(repr(value)).quantize(Decimal(1).scaleb(-digits), ROUND_HALF_EVEN)
