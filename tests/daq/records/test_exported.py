"""An exported record is checked from its file and the public key; a thousand flips: tests/long."""

import json
import random

import pytest

from api.export import ALONE, writer_for
from daq.head.record import Draft, EntryKind
from daq.head.view import record_view
from daq.records.exported import verify_export
from daq.records.signing import PUBLIC_FILE, public_keys
from tests.faults.elsewhere import flipped_by_chance, verified_elsewhere
from tests.faults.flipping import export_findings

ON = ["sqlite"]


@pytest.fixture
def exported(make, tmp_path):
    """A closed record with a kept and a voided value, as JSON, and the public key."""
    with make.journal(tmp_path) as journal:
        return made(journal, make), public_keys(tmp_path / PUBLIC_FILE)


def made(journal, make):
    kept = {
        "position": "1I",
        "characteristic": "valve.stem_diameter",
        "value": "6.971",
        "place": {"depth_mm": "12", "direction": "along"},
        "unit": "mm",
        "came": "keyed",
        "uncertainty": "0.002",
        "k": "2.0",
        "status": "NOT_ANALYZED",
        "complete": True,
    }
    (_, first, _) = journal.append(
        [make.opening(), *[Draft("job-1", EntryKind.KEPT, kept) for _ in range(2)]]
    )
    void = {"measurement_id": first.id, "reason": "slipped", "person": "invented"}
    journal.append([Draft("job-1", EntryKind.VOIDED, void), make.note()])
    journal.append([Draft("job-1", EntryKind.SIGNED, {"person": "invented"})])
    return b"".join(writer_for("json").write(record_view(journal.record("job-1")), ALONE))


def test_as_it_was_written_it_is_whole(exported):
    verdict = verify_export(*exported)
    assert (verdict.findings, verdict.signed, verdict.entries) == ((), True, 6)


def test_printed_otherwise_it_is_the_same_record(exported):
    data, keys = exported
    assert verify_export(json.dumps(json.loads(data)).encode(), keys).whole


@pytest.mark.parametrize("seed", range(50))
def test_one_flipped_bit_is_found_and_said(exported, seed):
    data, keys = exported
    chance = random.Random(seed)
    changed = bytearray(data)
    where = chance.randrange(len(changed.rstrip()))
    changed[where] ^= 1 << chance.randrange(8)
    assert export_findings(bytes(changed), keys), data[where - 20 : where + 20]


def test_every_shorter_record_is_found(exported):
    data, keys = exported
    for left in range(6):
        shown = json.loads(data)
        shown["entries"] = shown["entries"][:left]
        assert export_findings(json.dumps(shown).encode(), keys)
        if left:
            shown["head"]["entries"] = left
            shown["head"]["hash"] = shown["entries"][-1]["hash"]
        assert any(
            "signature" in each for each in export_findings(json.dumps(shown).encode(), keys)
        )


def test_a_missing_or_moved_entry_is_named(exported):
    data, keys = exported
    shown = json.loads(data)
    del shown["entries"][2]
    assert "entry 3 is missing" in export_findings(json.dumps(shown).encode(), keys)
    shown = json.loads(data)
    shown["entries"][2:4] = shown["entries"][3:1:-1]
    assert "entry 3 is missing" in export_findings(json.dumps(shown).encode(), keys)


def test_a_value_that_only_the_shown_part_lies_about_is_named_with_its_place(exported):
    data, keys = exported
    shown = json.loads(data)
    shown["measurements"][1]["status"] = "PASS"
    del shown["decisions"][0]
    said = export_findings(json.dumps(shown).encode(), keys)
    assert "/measurements/1/status is not what the entries say" in said
    assert "/decisions is not what the entries say" in said


def test_a_record_of_before_something_could_be_noted_at_all_is_whole(exported):
    data, keys = exported
    shown = json.loads(data)
    empty = [name for name, value in shown.items() if value in (None, [])]
    assert "photographs" in empty
    for name in empty:
        del shown[name]
    del shown["job"]["bank"]
    assert export_findings(json.dumps(shown).encode(), keys) == []


def test_what_says_something_may_not_be_missing(exported):
    data, keys = exported
    for name in ("measurements", "decisions", "verdict"):
        shown = json.loads(data)
        del shown[name]
        said = export_findings(json.dumps(shown).encode(), keys)
        assert said == [f"/{name} is not what the entries say"]
    shown = json.loads(data)
    shown["unheard_of"] = None
    said = export_findings(json.dumps(shown).encode(), keys)
    assert said == ["/unheard_of is not what the entries say"]


def test_without_the_key_the_signature_is_left_unlooked_at(exported):
    data, keys = exported
    shown = json.loads(data)
    shown["head"]["key"] = shown["head"]["signature"] = None
    changed = json.dumps(shown).encode()
    assert verify_export(changed, None).whole
    assert export_findings(changed, keys) == ["the end of the record is not signed"]


@pytest.mark.parametrize("data", [b"", b"{}", b"[1]", b'{"job": {}, "entries": [], "head": 1}'])
def test_what_is_no_record_is_said(exported, data):
    assert export_findings(data, exported[1])


def test_it_is_checked_where_there_is_nothing_but_the_file_and_the_key(make, tmp_path):
    """A thousand such flips are in tests/long."""
    with make.journal(tmp_path / "data") as journal:
        data = made(journal, make)
    public = (tmp_path / "data" / PUBLIC_FILE).read_bytes()
    (tmp_path / "empty").mkdir()
    records = [data, *flipped_by_chance(data, 20, seed=2)]
    first, *others = verified_elsewhere(tmp_path / "empty", records, public)
    assert first[0] == 0
    assert "whole, 6 entries, closed" in first[1]
    for code, said in others:
        assert code == 1
        assert "record.json" in said or "NOT whole" in said
