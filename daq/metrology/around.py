"""The smallest circle around points: exact, in expected linear time (move-to-front, Welzl 1991,
from memory). It is the minimum circumscribed circle of ISO 12181-1.

The order of the points is theirs, not random: measured points go round, so the first few already
give nearly the whole circle.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

Point = tuple[float, float]

# Of the radius: a point this little outside is on the circle, and its rounding is the reason.
_ON = 1e-12


class Around(NamedTuple):
    """Centre and radius."""

    x: float
    y: float
    radius: float

    def holds(self, point: Point) -> bool:
        """Whether a point is inside or on it."""
        return math.dist((self.x, self.y), point) <= self.radius * (1 + _ON)


def smallest_around(points: Sequence[Point]) -> Around:
    """The smallest circle that holds all points (at least one)."""
    circle = Around(*points[0], 0.0)
    for place, point in enumerate(points):
        if not circle.holds(point):
            circle = _through_one(points[:place], point)
    return circle


def _through_one(points: Sequence[Point], on: Point) -> Around:
    circle = Around(*on, 0.0)
    for place, point in enumerate(points):
        if not circle.holds(point):
            circle = _through_two(points[:place], on, point)
    return circle


def _through_two(points: Sequence[Point], first: Point, second: Point) -> Around:
    circle = _across(first, second)
    for point in points:
        if not circle.holds(point):
            circle = _through_three(first, second, point) or _widest(first, second, point)
    return circle


def _across(first: Point, second: Point) -> Around:
    x, y = (first[0] + second[0]) / 2, (first[1] + second[1]) / 2
    return Around(x, y, math.dist(first, second) / 2)


def _widest(*points: Point) -> Around:
    """For points on one line: the circle across the two that are farthest apart."""
    pairs = [_across(a, b) for place, a in enumerate(points) for b in points[:place]]
    return max(pairs, key=lambda circle: circle.radius)


def _through_three(a: Point, b: Point, c: Point) -> Around | None:
    """Circle through three points; None when they lie on one line."""
    bx, by, cx, cy = b[0] - a[0], b[1] - a[1], c[0] - a[0], c[1] - a[1]
    twice = 2 * (bx * cy - by * cx)
    if abs(twice) <= _ON * (math.hypot(bx, by) * math.hypot(cx, cy)):
        return None
    b2, c2 = bx * bx + by * by, cx * cx + cy * cy
    x, y = (cy * b2 - by * c2) / twice, (bx * c2 - cx * b2) / twice
    return Around(a[0] + x, a[1] + y, math.hypot(x, y))
