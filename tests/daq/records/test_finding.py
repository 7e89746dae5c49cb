"""Jobs are found by the beginnings of words, open or closed, page by page."""

import pytest

from daq.head.record import Draft, EntryKind
from daq.records.finding import words_in


def numbers(journal, text="", state=None, before=None, limit=100):
    return [row.number for row in journal.found(text, state, before=before, limit=limit)]


@pytest.fixture
def filled(make, journal):
    """Four jobs, the second closed."""
    for at, (number, customer) in enumerate(
        [
            ("J-2026/0113", "Müller & Söhne, invented"),
            ("J-2026/0114", "Mueller, invented"),
            ("K 7", None),
            ("J-1135", "Ελένη, invented"),
        ]
    ):
        opening = make.opening(job=f"job-{at}", number=number)
        body = {**opening.body, "customer": customer, "head_serial": f"H{at}99"}
        journal.append([Draft(opening.job, EntryKind.JOB_OPENED, body)])
    journal.append([Draft("job-1", EntryKind.SIGNED, {"person": "A. Person", "open": []})])
    return journal


def test_a_job_is_found_by_the_beginnings_of_words(filled):
    assert numbers(filled) == ["J-1135", "K 7", "J-2026/0114", "J-2026/0113"]
    assert numbers(filled, "2026/0113") == ["J-2026/0113"]
    assert numbers(filled, "0113") == ["J-2026/0113"]
    assert numbers(filled, "MÜLL inv") == ["J-2026/0113"]
    assert numbers(filled, "ελένη") == ["J-1135"]
    assert numbers(filled, "h299") == ["K 7"]
    assert numbers(filled, "j 2026 mueller") == ["J-2026/0114"]
    assert numbers(filled, "four-by") == numbers(filled)
    for nothing in ("ohne", "135", "—", "%", "_", "j'; DROP TABLE jobs"):
        assert numbers(filled, nothing) == []


def test_open_and_closed_ones_and_page_by_page(filled):
    assert numbers(filled, state="closed") == ["J-2026/0114"]
    assert numbers(filled, state="open") == ["J-1135", "K 7", "J-2026/0113"]
    row = filled.found("0114", None, before=None, limit=1)[0]
    assert (row.customer, row.signed_at is None) == ("Mueller, invented", False)
    first = filled.found("", None, before=None, limit=2)
    assert [each.number for each in first] == ["J-1135", "K 7"]
    assert numbers(filled, before=first[-1].ordinal) == ["J-2026/0114", "J-2026/0113"]


def test_a_job_that_was_removed_is_found_no_more(filled):
    filled.remove("job-1", "kept long enough")
    assert numbers(filled, "0114") == []
    with filled.looking() as connection:
        left = connection.exec_driver_sql("SELECT count(*) FROM job_words WHERE ordinal = 2")
        assert left.scalar() == 0


def test_words_are_cut_and_counted():
    assert words_in(["Ab-ab", "AB"]) == ["ab"]
    assert len(words_in([" ".join(map(str, range(1000)))])) == 40
    assert len(words_in(["x" * 1000])[0]) == 64


def test_a_closed_job_that_is_said_to_be_open_is_seen(make, filled, tmp_path):
    make.alter(tmp_path / "data", "UPDATE jobs SET signed_at = NULL WHERE id = 'job-1'")
    assert "times" in filled.chain("job-1").findings[0].text
    assert filled.chain("job-0").findings == ()
