"""A headless job killed at fifty moments of chance: what was announced is there, once."""

import random

from tests.faults.killed_job import kill_after

KILLS = 50
# The whole job announces some 226 entries.
ENTRIES_MOST, DELAY_S_MOST = 215, 0.05


def test_fifty_kills(tmp_path):
    chance = random.Random(20261125)
    told = []
    for number in range(KILLS):
        folder = tmp_path / str(number)
        entries, delay_s = chance.randint(1, ENTRIES_MOST), chance.uniform(0, DELAY_S_MOST)
        told.append(kill_after(folder, seed=number, entries=entries, delay_s=delay_s))
    print(f"announced before the {KILLS} kills: {sum(told)}, from {min(told)} to {max(told)}")
