"""How many times faster than it was recorded a minute of turning is evaluated.

Run by hand: `python -m pytest tests/benchmarks/test_turn.py -s -n 0`. The baseline is the length
of the trace itself, 60 s at 100 readings a second, against the processor time of the evaluation.
The bar is for a part that was turned; how a trace fares that never becomes a turn is printed too.
"""

import statistics
import time

import numpy as np
import pytest

from daq.capture.base import Setup
from daq.capture.turn import Turn
from drivers.reading import Reading
from tests.generators.feeding import readings
from tests.generators.hand_spin import long_spin

RATE_HZ, LENGTH_S, STEP_MM = 100.0, 60.0, 0.001
RATIO_LEAST = 500.0
SEEDS = 5


def ratio(given: list[Reading], *, one_way: bool) -> tuple[float, bool]:
    """Length of the trace over processor time, and whether a turn was proven."""
    turn = Turn(Setup(STEP_MM, one_way=one_way))
    began_s = time.process_time()
    turn.feed(given)
    got = turn.result()
    spent_s = time.process_time() - began_s
    return (given[-1].t_s - given[0].t_s) / spent_s, got.complete


@pytest.mark.parametrize("hand", ["steady", "fingers", "erratic", "rock-loose"])
def test_a_minute_of_turning(hand: str) -> None:
    for shape in ("good", "bent", "oval", "lobed"):
        for one_way in (True, False):
            found = []
            for seed in range(SEEDS):
                rng = np.random.default_rng([77, seed])
                spin = long_spin(
                    rng, shape=shape, hand=hand, rate_hz=RATE_HZ, step_mm=STEP_MM, length_s=LENGTH_S
                )
                found.append(ratio(readings(spin.t_s, spin.value_mm), one_way=one_way))
            middle = statistics.median(each for each, _ in found)
            complete = sum(proven for _, proven in found)
            word = "one way, and said so" if one_way else "nothing said"
            print(
                f"\n{hand:>10} {shape:>5}, {word:<20}: {middle:6.0f} x its own length "
                f"(least {min(each for each, _ in found):.0f}), {complete} of {SEEDS} complete",
                end="",
            )
            if one_way and hand != "rock-loose":
                assert middle >= RATIO_LEAST
