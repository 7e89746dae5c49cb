"""The pictures of the sheet: what is marked is what was found, and nothing runs off its edge."""

import math
import re
from decimal import Decimal

import pytest

from api.export.sheet.drawing import HEIGHT, MARGIN, WIDTH, Unrolled, section, strip
from tests.generators.a_made_record import made_record

RINGS = re.compile(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="3.4')
DOTS = re.compile(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="2.2')
PATH = re.compile(r'd="M([^"]+)"')
TURNS, TURN_READINGS = 2.3, 200


def trace(before=(), after=()) -> Unrolled:
    """An invented turn of 0.02 mm, with the gauge's way on before it and its way off behind."""
    turning = [
        0.01 * math.sin(2 * math.pi * n / TURN_READINGS) for n in range(int(TURNS * TURN_READINGS))
    ]
    values = [*before, *turning, *after]
    return Unrolled([n / 100 for n in range(len(values))], values, [])


def x_of(turn: Unrolled, place: int) -> float:
    return MARGIN + (WIDTH - 2 * MARGIN) * turn.t_s[place] / turn.t_s[-1]


ON = [-0.4] * 60 + [-0.4 + 0.02 * n for n in range(20)]
OFF = [-0.004 * n for n in range(80)]


@pytest.mark.parametrize("before", [[], ON], ids=["lying", "put on"])
@pytest.mark.parametrize("after", [[], OFF], ids=["left", "taken off"])
def test_the_highest_and_the_lowest_of_the_turn_are_marked_and_not_the_way_on_or_off(before, after):
    turn = trace(before, after)
    found = sorted(float(x) for x, _ in RINGS.findall(strip(turn, Decimal("0.02"))))
    peaks = [len(before) + TURN_READINGS * n // 4 for n in (1, 3, 5, 7, 9)]
    assert len(found) == 2
    for x in found:
        assert any(abs(x - x_of(turn, peak)) < 0.5 for peak in peaks), found


def test_the_runout_fills_the_picture_however_far_the_gauge_came():
    turn = trace(ON, OFF)
    (line,) = PATH.findall(strip(turn, Decimal("0.02")))
    ys = [float(point.split()[1]) for point in line.split("L")]
    seen = [y for y in ys if 1.5 < y < HEIGHT - 1.5]
    assert max(seen) - min(seen) > HEIGHT / 2


def test_nothing_is_marked_where_the_trace_does_not_show_the_runout():
    assert not RINGS.findall(strip(trace(ON, OFF), Decimal("0.2")))
    assert not RINGS.findall(strip(trace(), None))


def bores(spread: str, uncertainty: str):
    found = [m for m in made_record().measurements if m.characteristic == "guide.diameter"][:4]
    return [
        m.model_copy(
            update={
                "value": Decimal("7.000") + (Decimal(spread) if n == 1 else 0),
                "uncertainty": Decimal(uncertainty),
            }
        )
        for n, m in enumerate(found)
    ]


def width_of(svg: str) -> float:
    xs = [float(x) for x, _ in DOTS.findall(svg) if float(x) < WIDTH / 2]
    return max(xs) - min(xs)


def test_a_bore_stays_on_its_picture_and_what_the_uncertainty_alone_could_do_looks_small():
    worn, doubtful = (section(bores("0.020", u)) for u in ("0.002", "0.050"))
    for x, y in DOTS.findall(worn):
        assert 3 < float(x) < WIDTH - 3
        assert 3 < float(y) < HEIGHT - 3
    assert width_of(doubtful) < width_of(worn) / 4
