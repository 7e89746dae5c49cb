"""A fiftieth of the soak in tests/long: 64 gauges at 100 readings a second."""

import pytest

from tests.drivers.soaking import soak


@pytest.mark.timeout(180)
def test_sixty_four_gauges_lose_nothing():
    said = soak(ports=64, rate_hz=100, seconds=12, every_s=1)
    assert said.expected == said.heard == 64 * 1200
    assert said.lost == 0
