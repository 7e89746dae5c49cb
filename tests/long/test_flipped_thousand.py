"""One bit of any stored column or any byte of an exported record, or the last entries: a thousand
of each, and `verify` says where every time."""

import json
import random
import shutil

import pytest

from daq.records.signing import PUBLIC_FILE, public_keys
from tests.daq.records.conftest import Maker, closed  # noqa: F401
from tests.daq.records.test_exported import made
from tests.faults.elsewhere import flipped_by_chance, verified_elsewhere
from tests.faults.flipping import cut_off, export_findings, findings, flip_a_column

TIMES = 1000
pytestmark = pytest.mark.timeout(3600)


def test_a_thousand_columns(closed, tmp_path):  # noqa: F811
    missed = []
    for seed in range(TIMES):
        where = flip_a_column(closed, tmp_path / "copy", random.Random(seed))
        if not findings(tmp_path / "copy"):
            missed.append(where)
        shutil.rmtree(tmp_path / "copy")
    assert missed == []


def test_a_thousand_cut_off_ends(closed, tmp_path):  # noqa: F811
    for seed in range(TIMES):
        cut_off(closed, tmp_path / "copy", random.Random(seed))
        assert findings(tmp_path / "copy"), seed
        shutil.rmtree(tmp_path / "copy")


def exported(tmp_path):
    make = Maker()
    with make.journal(tmp_path) as journal:
        return made(journal, make), public_keys(tmp_path / PUBLIC_FILE)


def test_a_thousand_bytes_of_an_exported_record(tmp_path):
    data, _ = exported(tmp_path)
    (tmp_path / "empty").mkdir()
    public = (tmp_path / PUBLIC_FILE).read_bytes()
    changed = flipped_by_chance(data, TIMES, seed=1)
    first, *others = verified_elsewhere(tmp_path / "empty", [data, *changed], public)
    assert first[0] == 0
    assert [each for each in others if each[0] != 1] == []


def test_every_end_of_an_exported_record(tmp_path):
    data, keys = exported(tmp_path)
    shown = json.loads(data)
    for left in range(len(shown["entries"])):
        shorter = {**shown, "entries": shown["entries"][:left]}
        if left:
            last = shorter["entries"][-1]
            shorter["head"] = {**shown["head"], "entries": left, "hash": last["hash"]}
        assert export_findings(json.dumps(shorter).encode(), keys)
