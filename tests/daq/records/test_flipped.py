"""One bit of a stored column, or the last entries: found and said; a thousand are in tests/long."""

import random

import pytest

from tests.faults.flipping import cut_off, findings, flip_a_column

ON = ["sqlite"]


def test_the_folder_as_it_is_is_whole(closed):
    assert findings(closed) == []


@pytest.mark.parametrize("seed", range(50))
def test_one_flipped_bit_is_found_and_said(closed, tmp_path, seed):
    where = flip_a_column(closed, tmp_path / "copy", random.Random(seed))
    assert findings(tmp_path / "copy"), where


@pytest.mark.parametrize("seed", range(5))
def test_the_last_entries_cut_off_are_missed_even_when_the_index_agrees(closed, tmp_path, seed):
    cut_off(closed, tmp_path / "copy", random.Random(seed))
    said = findings(tmp_path / "copy")
    assert any("signature that is of something else" in each for each in said)
