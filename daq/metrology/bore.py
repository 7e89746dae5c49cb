"""What a two-point gauge shows in a cylinder it does not cross squarely through the middle.

Solid geometry of a line through a cylinder of diameter D: tilted by phi in the plane of the axis,
its length is D/cos(phi); passing the axis at the distance e it is sqrt(D^2 - 4 e^2). Contacts that
are balls of radius r ride on a cylinder thinner by 2r. Derived; closed form.
"""

import math


def shown_mm(
    diameter_mm: float, tilt_deg: float, offset_mm: float = 0.0, ball_radius_mm: float = 0.0
) -> float:
    """Distance of the contacts' tips. Raises ValueError where the gauge does not fit."""
    inner_mm = diameter_mm - 2 * ball_radius_mm
    if inner_mm <= 0 or 2 * abs(offset_mm) >= inner_mm:
        raise ValueError("The gauge does not fit into the bore like this.")
    chord_mm = math.sqrt(inner_mm**2 - 4 * offset_mm**2)
    return 2 * ball_radius_mm + chord_mm / math.cos(math.radians(tilt_deg))


def tilt_for_deg(diameter_mm: float, error_mm: float) -> float:
    """The tilt that adds `error_mm` to the reading, point contacts, through the middle."""
    return math.degrees(math.acos(diameter_mm / (diameter_mm + error_mm)))


def offset_for_mm(diameter_mm: float, error_mm: float) -> float:
    """The distance from the axis that takes `error_mm` off the reading, point contacts, square."""
    return math.sqrt(diameter_mm**2 - (diameter_mm - error_mm) ** 2) / 2


def from_ring_mm(ring_mm: float, shown_in_ring_mm: float, shown_in_bore_mm: float) -> float:
    """Bore by comparison with a setting ring of known size."""
    return ring_mm + (shown_in_bore_mm - shown_in_ring_mm)
