"""A gauge's plug pulled two hundred times while ten invented heads are measured.

Run by hand: `python -m pytest tests/long/test_unplugged_200.py -n 0 -s`.
"""

import pytest

from tests.faults.unplugging import measured_while_pulled

HEADS, PULLS_EACH = 10, 20


@pytest.mark.timeout(3600)
async def test_two_hundred_pulls(tmp_path):
    every = []
    for seed in range(101, 101 + HEADS):
        with pytest.MonkeyPatch.context() as patch:
            folder = tmp_path / str(seed)
            said = await measured_while_pulled(patch, folder, seed, PULLS_EACH)
        print(f"seed {seed}: {said}")
        every.append(said)
    assert sum(said.count for said in every) == HEADS * PULLS_EACH
    assert [said.wrong for said in every if said.wrong] == []
    # Nearly every pull in the middle of a movement breaks a capture that had begun.
    assert sum(said.broken for said in every) >= 0.5 * sum(said.in_a_capture for said in every) > 0
    assert {said.kept for said in every} == {112}  # all that the gauges take on eight pairs
