"""Pictures as SVG without words: bores as sections, a turn unrolled or, where known, round.

They are drawn to be seen, not measured: the scale is stretched until the shape shows, and the
numbers stand beside them.
"""

import math
from collections import deque
from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple

from daq.capture.trace import Trace, TraceError
from daq.head.measurement import Measurement

WIDTH, HEIGHT = 150.0, 84.0
ROUND = 84.0
MARGIN = 7.0
POINTS_MOST = 400
# Of the picture's half width: the walls of a bore stand here, and bend this far.
_WALL, _BEND = 0.42, 0.34
# A high and a low point are marked only where together they are the runout that was found.
_AGREES = 0.3
# Of the runout: what is left free above and below it.
_ROOM = 0.15

Point = tuple[float, float]


class Unrolled(NamedTuple):
    """One turn seen: times in s, values in mm, and which readings were index marks."""

    t_s: list[float]
    value_mm: list[float]
    marks: list[int]


def section(takes: Sequence[Measurement]) -> str:
    """A bore or stem cut open: depth downwards, along the head solid, across it dashed."""
    spots = [
        (float(m.place.depth_mm), m.place.direction, float(m.value))
        for m in takes
        if m.place is not None and m.place.depth_mm is not None and m.value is not None
    ]
    if len(spots) < 2:
        return ""
    values = [value for _, _, value in spots]
    depths = [depth for depth, _, _ in spots]
    # What the uncertainty alone could do does not look like a shape.
    doubts = [float(m.uncertainty) for m in takes if m.uncertainty is not None]
    least = min(values)
    span = max(max(values) - least, 2 * max(doubts, default=0.0)) or 1.0
    top, deep = min(depths), (max(depths) - min(depths)) or 1.0
    shapes = [_line([(WIDTH / 2, 0), (WIDTH / 2, HEIGHT)], "#999", "0.5", dash="6 2 1 2")]
    for direction, dash in (("along", ""), ("across", "4 2.5")):
        here = sorted((depth, value) for depth, way, value in spots if way == direction)
        walls = [
            (
                WIDTH * (_WALL - _BEND * (value - least) / span) / 2,
                MARGIN + (HEIGHT - 2 * MARGIN) * (depth - top) / deep,
            )
            for depth, value in here
        ]
        for side in (walls, [(WIDTH - x, y) for x, y in walls]):
            shapes.append(_line(side, "#000", "1.4", dash=dash))
            shapes += [_dot(point, filled=not dash) for point in side]
    return _svg(WIDTH, HEIGHT, shapes)


def unrolled(packed: bytes | None, rejected: Sequence[dict[str, str]]) -> Unrolled | None:
    """The readings of a stored turn without those taken for lint; None where it cannot be read."""
    if packed is None:
        return None
    try:
        readings = Trace.unpack(packed).readings()
    except TraceError:
        return None
    lint = {float(each["t_s"]) for each in rejected}
    kept = [r for r in readings if r.t_s not in lint and math.isfinite(r.value)]
    if len(kept) < 2:
        return None
    return Unrolled(
        [r.t_s for r in kept],
        [r.value for r in kept],
        [place for place, r in enumerate(kept) if r.mark],
    )


def strip(turn: Unrolled, runout_mm: Decimal | None) -> str:
    """The whole trace from left to right, highest and lowest marked where they are the runout.

    Only the height of the runout is shown, so that the gauge's way onto the part and off it, which
    is longer, does not flatten it; what lies beyond runs along the edge.
    """
    values = turn.value_mm
    turning = _turning(values, float(runout_mm or 0))
    stretch = turning or list(range(len(values)))
    least, most = min(stretch, key=values.__getitem__), max(stretch, key=values.__getitem__)
    seen = values[most] - values[least]
    low, span = values[least] - _ROOM * seen, (1 + 2 * _ROOM) * seen or 1.0
    begin, lasts = turn.t_s[0], (turn.t_s[-1] - turn.t_s[0]) or 1.0

    def at(place: int) -> Point:
        x = MARGIN + (WIDTH - 2 * MARGIN) * (turn.t_s[place] - begin) / lasts
        y = HEIGHT - HEIGHT * (values[place] - low) / span
        return x, min(max(y, 1.0), HEIGHT - 1.0)

    shapes = [_line([at(place) for place in thinned(values)], "#000", "0.9")]
    shapes += [
        _line([(at(m)[0], 0), (at(m)[0], HEIGHT)], "#888", "0.5", dash="2 2") for m in turn.marks
    ]
    if turning:
        shapes += [_ring(at(place)) for place in (least, most)]
    return _svg(WIDTH, HEIGHT, shapes)


def around(turn: Unrolled) -> str:
    """The last turn between two marks as a circle whose deviations are stretched; worst marked."""
    if len(turn.marks) < 2:
        return ""
    first, last = turn.marks[-2], turn.marks[-1]
    values, times = turn.value_mm[first:last], turn.t_s[first:last]
    if len(values) < 8:
        return ""
    low, span = min(values), (max(values) - min(values)) or 1.0
    lasts = turn.t_s[last] - times[0]
    middle, inner, stretch = ROUND / 2, ROUND * 0.25, ROUND * 0.19

    def at(place: int) -> Point:
        angle = 2 * math.pi * (times[place] - times[0]) / lasts
        radius = inner + stretch * (values[place] - low) / span
        return middle + radius * math.sin(angle), middle - radius * math.cos(angle)

    outline = [at(place) for place in thinned(values)]
    shapes = [
        _circle((middle, middle), inner + stretch / 2, "none", "#999", "0.5", dash="3 2"),
        _line([*outline, outline[0]], "#000", "1.1"),
        _line([(middle, middle - 3), (middle, middle + 3)], "#999", "0.5"),
        _line([(middle - 3, middle), (middle + 3, middle)], "#999", "0.5"),
        _ring(at(values.index(max(values)))),
    ]
    return _svg(ROUND, ROUND, shapes)


def _turning(values: Sequence[float], runout: float) -> list[int]:
    """Places of the longest stretch that goes up and down by about the runout; none where none
    does. A slope at its ends, the last of the way on or the first of the way off, is no part of it.
    """
    inner, before = _level(values, runout), 0
    while before != len(inner):
        before = len(inner)
        inner = _inward(_inward(inner, values)[::-1], values)[::-1]
    found = [values[place] for place in inner] or [0.0]
    return inner if max(found) - min(found) > (1 - _AGREES) * runout > 0 else []


def _inward(places: list[int], values: Sequence[float]) -> list[int]:
    """From the first place on that is neither the highest nor the lowest of what follows it."""
    first = len(places)
    low, high = math.inf, -math.inf
    for n in range(len(places) - 1, -1, -1):
        value = values[places[n]]
        if low < value < high:
            first = n
        low, high = min(low, value), max(high, value)
    return places[first:]


def _level(values: Sequence[float], runout: float) -> list[int]:
    """Places of the longest stretch that does not go further up and down than the runout does."""
    best, first = range(0), 0
    lows: deque[int] = deque()
    highs: deque[int] = deque()
    for last, value in enumerate(values):
        while lows and values[lows[-1]] >= value:
            lows.pop()
        while highs and values[highs[-1]] <= value:
            highs.pop()
        lows.append(last)
        highs.append(last)
        while values[highs[0]] - values[lows[0]] > (1 + _AGREES) * runout:
            first += 1
            if lows[0] < first:
                lows.popleft()
            if highs[0] < first:
                highs.popleft()
        seen = values[highs[0]] - values[lows[0]]
        if seen > (1 - _AGREES) * runout and last - first >= len(best):
            best = range(first, last + 1)
    return list(best)


def thinned(values: Sequence[float]) -> list[int]:
    """Places of the least and the most of each piece, so that no peak is lost by drawing less."""
    if len(values) <= POINTS_MOST:
        return list(range(len(values)))
    piece = math.ceil(len(values) / (POINTS_MOST / 2))
    found: list[int] = []
    for start in range(0, len(values), piece):
        places = range(start, min(start + piece, len(values)))
        ends = {min(places, key=values.__getitem__), max(places, key=values.__getitem__)}
        found += sorted(ends)
    return found


def _line(points: Sequence[Point], ink: str, width: str, dash: str = "") -> str:
    path = "L".join(f"{x:.2f} {y:.2f}" for x, y in points)
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return f'<path d="M{path}" fill="none" stroke="{ink}" stroke-width="{width}"{dashed}/>'


def _dot(point: Point, *, filled: bool) -> str:
    return _circle(point, 2.2, "#000" if filled else "#fff", "#000", "0.9")


def _ring(point: Point) -> str:
    return _circle(point, 3.4, "none", "#000", "1.6")


def _circle(middle: Point, radius: float, fill: str, ink: str, width: str, dash: str = "") -> str:
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<circle cx="{middle[0]:.2f}" cy="{middle[1]:.2f}" r="{radius:.2f}" fill="{fill}" '
        f'stroke="{ink}" stroke-width="{width}"{dashed}/>'
    )


def _svg(width: float, height: float, shapes: Sequence[str]) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:g}" '
        f'width="{width:g}" height="{height:g}">{"".join(shapes)}</svg>'
    )
