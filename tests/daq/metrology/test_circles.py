"""Reference circles against slow but certain ways of finding them."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from daq.metrology.around import _across, _through_three, smallest_around
from daq.metrology.circles import (
    least_squares,
    maximum_inscribed,
    minimum_circumscribed,
    minimum_zone,
)

point = st.tuples(st.floats(-10, 10), st.floats(-10, 10)).map(
    lambda xy: (round(xy[0], 3), round(xy[1], 3))
)


@settings(derandomize=True, deadline=None)
@given(st.lists(point, min_size=1, max_size=8))
def test_the_smallest_circle_is_the_smallest_of_all_that_hold_the_points(points):
    circle = smallest_around(points)
    assert all(circle.holds(each) for each in points)
    candidates = [_across(a, b) for a, b in combinations(points, 2)]
    candidates += [c for three in combinations(points, 3) if (c := _through_three(*three))]
    near = 1e-9 * (1 + circle.radius)
    holding = [
        c.radius
        for c in candidates
        if all(np.hypot(x - c.x, y - c.y) <= c.radius + near for x, y in points)
    ]
    assert circle.radius <= min(holding, default=0.0) + near


def part(seed: int, count: int = 60) -> np.ndarray:
    """A round part of about 8 mm with some form, off the middle."""
    chance = np.random.default_rng(seed)
    angle = np.sort(chance.uniform(0, 2 * np.pi, count))
    form = sum(
        chance.normal(0, 0.004) * np.cos(k * angle + chance.uniform(0, 6)) for k in (2, 3, 5)
    )
    radius = 4 + form + chance.normal(0, 0.0005, count)
    x0, y0 = chance.normal(0, 0.05, 2)
    return np.column_stack((x0 + radius * np.cos(angle), y0 + radius * np.sin(angle)))


@pytest.mark.parametrize("seed", range(8))
def test_no_centre_nearby_does_better(seed):
    """A fine grid around each centre: the criterion is nowhere smaller."""
    points = part(seed)
    zone, inside, outside = (
        fit(points) for fit in (minimum_zone, maximum_inscribed, minimum_circumscribed)
    )

    def distances(circle, shift):
        return np.hypot(points[:, 0] - circle.x - shift[0], points[:, 1] - circle.y - shift[1])

    for size in (1e-2, 1e-3, 1e-4, 1e-6):
        for angle in np.linspace(0, 2 * np.pi, 32):
            shift = size * np.cos(angle), size * np.sin(angle)
            of_zone = distances(zone, shift)
            assert of_zone.max() - of_zone.min() >= zone.total - 1e-9
            assert distances(inside, shift).min() <= inside.radius + 1e-9
            assert distances(outside, shift).max() >= outside.radius - 1e-9
            least = least_squares(points)
            off = distances(least, shift)
            assert ((off - off.mean()) ** 2).mean() >= least.root_mean_square**2 - 1e-12


@pytest.mark.parametrize("seed", range(4))
def test_the_zones_stand_in_their_order(seed):
    points = part(seed, 200)
    zone, least = minimum_zone(points), least_squares(points)
    assert zone.total <= least.total + 1e-12
    assert maximum_inscribed(points).radius <= zone.radius <= minimum_circumscribed(points).radius
    assert least.total == pytest.approx(least.peak + least.valley)


@pytest.mark.parametrize("fit", [least_squares, minimum_zone, maximum_inscribed])
def test_a_perfect_circle_has_no_form(fit):
    angle = np.linspace(0, 2 * np.pi, 12, endpoint=False)
    circle = fit(np.column_stack((3 + 5 * np.cos(angle), -2 + 5 * np.sin(angle))))
    assert (circle.x, circle.y, circle.radius) == pytest.approx((3, -2, 5))
    assert circle.total == pytest.approx(0, abs=1e-12)


def test_two_points_are_no_circle():
    with pytest.raises(ValueError, match="three points"):
        least_squares(np.zeros((2, 2)))
