"""A named person signs; what is open is listed, and nothing is signed into being good."""

import pytest

from daq.head.errors import ConflictError, RefusedError, UnknownError
from daq.head.leaving_out import Which, chosen, left_out
from daq.head.place import Place
from daq.head.record import Draft, EntryKind
from daq.head.signing import signed

NEAR = {("valve.stem_runout", "3E"): "0.0295", ("seat.runout", "1I"): "0.0498"}


def test_a_head_in_order_is_signed_without_a_word(measured):
    made = measured()
    body = made.add(signed(made.record, "A. Person", None)).body
    assert (body["reason"], body["open"]) == (None, [])
    assert made.view.job.signed_by == "A. Person"


def test_what_is_unsure_needs_one_written_reason_and_each_is_listed(measured):
    made = measured(NEAR)
    with pytest.raises(ConflictError) as refused:
        signed(made.record, "A. Person", None)
    said = str(refused.value)
    assert "2 parts are unsure" in said
    assert "3E valve: valve.stem_runout 0.0295" in said
    assert "what would settle it: " in said
    assert "write a 'reason'" in said
    made.add(signed(made.record, "A. Person", "the customer was asked and agrees"))
    view = made.view
    assert view.job.signed_reason == "the customer was asked and agrees"
    listed = made.entries[-1].body["open"]
    assert [(p["position"], p["part"], p["decision"]) for p in listed] == [
        ("1I", "seat", "unsure"),
        ("3E", "valve", "unsure"),
    ]
    assert all(p["settles"] for p in listed)
    assert made.verdict("3E", "valve") == "unsure"
    assert view.verdict.value == "unsure"


def test_what_is_not_measured_stays_so_under_a_signature(book):
    book.add(signed(book.record, "A. Person", None))
    assert {d.decision.value for d in book.view.decisions} == {"not measured"}
    assert len(book.entries[-1].body["open"]) == len(book.view.open_points) > 40
    assert book.view.verdict.value == "not measured"


class TestWhich:
    def test_one_place_a_part_a_characteristic_or_a_position(self, book):
        place = Place(depth_mm="12", direction="along")
        one = chosen(book.record, Which("valve.stem_diameter", position="3E", place=place))
        assert one == (("valve.stem_diameter", "3E", place),)
        spring = chosen(book.record, Which(part="spring", position="3E"))
        assert {t.characteristic.split(".")[0] for t in spring} == {"spring"}
        assert {t.position for t in spring} == {"3E"}
        looks = chosen(book.record, Which("valve.look"))
        assert [t.position for t in looks] == list(book.plan.head.positions)
        assert {t.position for t in chosen(book.record, Which(position="head"))} == {"head"}

    def test_a_whole_part_is_left_out_once(self, book):
        which = Which(part="spring", position="3E")
        targets = chosen(book.record, which)
        for draft in left_out(
            book.record, targets, because="missing", reason="lost", person="A. Person"
        ):
            book.add(draft)
        assert len(book.view.left_out) == len(targets)
        assert {each.because for each in book.view.left_out} == {"missing"}
        assert book.verdict("3E", "spring") == "not measured"
        with pytest.raises(ConflictError, match="nothing of that is left"):
            chosen(book.record, which)

    def test_what_is_not_there_is_a_sentence(self, book):
        for which, error, said in [
            (Which("valve.colour"), UnknownError, "there is no characteristic"),
            (Which(position="9E"), UnknownError, "there is no position '9E'"),
            (Which(part="piston"), UnknownError, "its parts are head, guide, valve"),
            (Which(place=Place(spot="rim")), RefusedError, "belongs to a characteristic"),
        ]:
            with pytest.raises(error, match=said):
                chosen(book.record, which)


class TestOrder:
    def test_by_characteristic_or_by_part(self, book):
        by_characteristic = book.record.remaining
        assert by_characteristic == book.plan.targets
        book.add(Draft("job-1", EntryKind.ORDERED, {"by": "part", "person": None}))
        by_part = book.record.remaining
        assert sorted(map(str, by_part)) == sorted(map(str, by_characteristic))
        seen = [(t.position, book.plan.step(t.characteristic).about.part) for t in by_part]
        runs = [pair for n, pair in enumerate(seen) if n == 0 or pair != seen[n - 1]]
        assert len(runs) == len(set(runs)), "each part is in the hand once"
        assert [p for p, _ in runs[:3]] == ["head", "1I", "1I"]
        book.add(Draft("job-1", EntryKind.ORDERED, {"by": "characteristic", "person": None}))
        assert book.record.remaining == by_characteristic
