"""Ten minutes of 64 gauges at 100 readings a second in one process: nothing lost, memory flat.

Run by hand: `python -m pytest tests/long/test_soak.py -n 0 -s`.
"""

import os

import pytest

from tests.drivers.soaking import soak

SECONDS = float(os.environ.get("SOAK_SECONDS", "600"))
GROWTH_MIB_MOST = 4.0  # from the end of the first tenth to the last


@pytest.mark.timeout(3600)
def test_ten_minutes():
    said = soak(ports=64, rate_hz=100, seconds=SECONDS, every_s=SECONDS / 40)
    print(
        f"\n{said.heard:,} of {said.expected:,} readings in {said.seconds:.1f} s, {said.lost} lost"
    )
    print(f"{said.cores:.1%} of a core")
    print("memory: " + ", ".join(f"{t:.0f} s {m:.1f} MiB" for t, m in said.rss_mib))
    assert said.lost == 0
    settled = said.rss_mib[len(said.rss_mib) // 10 :]
    assert max(m for _, m in settled) - settled[0][1] <= GROWTH_MIB_MOST
