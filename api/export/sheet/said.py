"""Figures, limits, places and times as they are read on paper."""

from decimal import Decimal

from daq.head.characteristic import CATALOGUE
from daq.head.layout import HEAD
from daq.head.measurement import Limits, Measurement
from daq.head.plan import Place

_UNITS = {"[in_i]": "in", "Cel": "°C", "1": ""}


def unit_said(unit: str) -> str:
    """A unit as people write it."""
    return _UNITS.get(unit, unit)


def number(value: Decimal | None) -> str:
    """Every digit of the record, with a real minus."""
    return "" if value is None else format(value, "f").replace("-", "−")


def figure(m: Measurement) -> str:
    """The value alone; yes or no for a look, and a recess with its word."""
    if m.value is None:
        return "nothing seen"
    if is_look(m):
        return "yes" if m.value == 1 else "no"
    if m.characteristic == "valve.recess":
        return f"{number(abs(m.value))} {'proud' if m.value < 0 else 'deep'}"
    return number(m.value)


def doubt(m: Measurement) -> str:
    """± U; a yes has none."""
    if m.uncertainty is None or (is_look(m) and m.uncertainty == 0):
        return ""
    return f"± {number(m.uncertainty)}"


def asked_of(m: Measurement) -> str:
    """The limit of a value; of a look, that it has to be a yes."""
    is_yes = m.limits is not None and m.limits.lower == 1 and m.limits.upper is None
    return "yes" if is_look(m) and is_yes else bounds(m.limits)


def is_look(m: Measurement) -> bool:
    """Whether it was looked at and not measured."""
    about = CATALOGUE.get(m.characteristic)
    return about is not None and about.capture == "look"


def bounds(limits: Limits | None) -> str:
    """A limit in the fewest signs."""
    if limits is None:
        return ""
    if limits.lower is None:
        return f"≤ {number(limits.upper)}"
    if limits.upper is None:
        return f"≥ {number(limits.lower)}"
    return f"{number(limits.lower)} to {number(limits.upper)}"


def allowed(limits: Limits) -> str:
    """A limit in words."""
    if limits.lower is None:
        return f"at most {number(limits.upper)}"
    if limits.upper is None:
        return f"at least {number(limits.lower)}"
    return f"from {number(limits.lower)} to {number(limits.upper)}"


def place_said(place: Place | None) -> str:
    """Where on the part; always in mm, as the plan says it."""
    if place is None:
        return ""
    if place.depth_mm is not None:
        return f"{number(place.depth_mm)} mm {place.direction}"
    return str(place)


def moment(at: str | None) -> str:
    """A time of the record as date and minute, UTC."""
    return "" if at is None else f"{at[:10]} {at[11:16]}"


def where(position: str, part: str) -> str:
    """`3E valve`; the head is the head."""
    return "head" if position in {HEAD, ""} else f"{position} {part}"
