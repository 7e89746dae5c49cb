"""A headless job killed at fifty moments of chance: what was announced is there, once."""

import random

from tests.faults.killed_job import kill_after

KILLS, LONGEST_S = 50, 6.0


def test_fifty_kills(tmp_path):
    chance = random.Random(20261125)
    told = []
    for number in range(KILLS):
        folder = tmp_path / str(number)
        told.append(kill_after(folder, seed=number, seconds=chance.uniform(0.0, LONGEST_S)))
    print(f"announced before the {KILLS} kills: {sum(told)}, from {min(told)} to {max(told)}")
