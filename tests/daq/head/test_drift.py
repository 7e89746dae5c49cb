"""A zero that moved between two checks takes what was measured between them along."""

from daq.head.record import Draft, EntryKind
from tests.generators.healthy import healthy


def check(book, *, drifted):
    body = {
        "gauge": "fine gauge",
        "ring": "ring 7",
        "size_mm": "7.001200",
        "shown_mm": "7.001200",
        "drift_mm": "0.0070" if drifted else "0.0000",
        "drifted": drifted,
    }
    book.add(Draft("job-1", EntryKind.ZEROED, body))


def test_what_was_measured_on_a_moving_zero_is_asked_for_again(book, plan):
    values = healthy(plan)
    bores = [row for row in values if row[:2] == ("guide.diameter", "2E")]
    book.key_all(row for row in values if row not in bores)
    check(book, drifted=False)
    book.key_all(bores)
    assert book.record.remaining == ()
    assert book.verdict("2E", "guide") == "accept"
    check(book, drifted=True)
    left = book.record.remaining
    assert {(t.characteristic, t.position) for t in left} == {("guide.diameter", "2E")}
    decision = book.decision("2E", "guide")
    # Its bores prove nothing now, and without them there is no clearance.
    assert decision.decision.value == "not measured"
    bore = next(r for r in decision.reasons if r.characteristic == "guide.diameter")
    assert "the zero of fine gauge moved by 0.0070 mm" in bore.text
    assert "a ring check" in bore.next
    assert book.verdict("2E", "valve") == "not measured"
    assert book.verdict("3E", "guide") == "accept"
    book.key_all(bores)
    assert book.record.remaining == ()
    assert book.verdict("2E", "guide") == "accept"
    assert book.verdict("2E", "valve") == "accept"
