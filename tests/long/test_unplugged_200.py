"""A gauge's plug pulled two hundred times while invented heads are measured.

Run by hand: `python -m pytest tests/long/test_unplugged_200.py -n 0 -s`.
"""

import pytest

from tests.faults.unplugging import Pulls, measured_while_pulled

PULLS, PULLS_A_HEAD = 200, 20
FIRST_SEED = 101


@pytest.mark.timeout(3600)
async def test_two_hundred_pulls(tmp_path):
    every: list[Pulls] = []
    while (left := PULLS - sum(said.count for said in every)) > 0:
        seed = FIRST_SEED + len(every)
        with pytest.MonkeyPatch.context() as patch:
            folder = tmp_path / str(seed)
            pulls = min(PULLS_A_HEAD, left)
            said = await measured_while_pulled(patch, folder, seed, pulls)
        print(f"seed {seed}: {said}")
        every.append(said)
    # Nearly every pull in the middle of a movement breaks a capture that had begun.
    assert sum(said.broken for said in every) >= 0.5 * sum(said.in_a_capture for said in every) > 0
    # Every head has all its values, however often a plug was pulled.
    assert len({said.kept for said in every}) == 1
    assert every[0].kept > 100
    assert all(said.traced >= said.kept for said in every)
    # Last, because the turn may be off by itself, without any pull.
    assert [said.wrong for said in every if said.wrong] == []
