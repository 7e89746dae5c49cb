"""Takes of one place are pooled, an incomplete one is a lower bound, and nothing is chosen."""

import pytest

from daq.head.deciding.judged import Doubt, judged
from daq.head.measurement import Status
from tests.generators.healthy import healthy

RUNOUT = ("valve.stem_runout", "3E")


def takes(book, name="valve.stem_runout", position="3E"):
    return [m for m in book.view.measurements if (m.characteristic, m.position) == (name, position)]


def test_two_takes_are_one_mean(book):
    book.key(*RUNOUT, "0.0290")
    book.key(*RUNOUT, "0.0270")
    one = judged(takes(book))
    assert one.value == pytest.approx(0.028)
    assert (one.status, one.doubt) == (Status.PASS, Doubt.NONE)
    assert "(mean of 2 takes)" in one.said
    assert "0.0280" in one.said


def test_takes_that_differ_prove_nothing_unless_all_are_out(book):
    book.key(*RUNOUT, "0.010")
    book.key(*RUNOUT, "0.050")
    assert judged(takes(book)).doubt is Doubt.CONTRADICTING
    assert judged(takes(book)).status is Status.INDETERMINATE
    book.void(book.entries[1])
    book.key(*RUNOUT, "0.080")
    assert [m.status for m in takes(book)] == [Status.VOID, Status.FAIL, Status.FAIL]
    assert judged(takes(book)[1:]).status is Status.FAIL


def test_an_incomplete_take_alone_may_fail_and_never_pass(book):
    book.partial(*RUNOUT, "0.010")
    assert (judged(takes(book)).status, book.verdict("3E", "valve")) == (
        Status.INDETERMINATE,
        "not measured",
    )
    book.partial(*RUNOUT, "0.090")
    assert judged(takes(book)).status is Status.FAIL
    assert book.verdict("3E", "valve") == "replace"


def test_an_incomplete_take_that_saw_more_contests_a_complete_one(plan, book):
    book.key_all(healthy(plan))
    assert book.verdict("3E", "valve") == "accept"
    book.partial(*RUNOUT, "0.005")
    assert book.verdict("3E", "valve") == "accept"
    book.partial(*RUNOUT, "0.020")
    decision = book.decision("3E", "valve")
    assert decision.decision.value == "unsure"
    assert "an incomplete take" in decision.reasons[0].text


def test_the_better_of_two_takes_cannot_be_had_by_voiding_the_other(plan, book):
    book.key_all(healthy(plan))
    bad = book.key(*RUNOUT, "0.060")
    assert book.verdict("3E", "valve") == "unsure"
    book.void(bad, "did not like it")
    decision = book.decision("3E", "valve")
    assert decision.decision.value == "not measured"
    assert "not measured again since a take of it was voided" in decision.reasons[0].text
    assert ("valve.stem_runout", "3E", None) in book.record.remaining
    book.key(*RUNOUT, "0.0080")
    assert book.verdict("3E", "valve") == "accept"
    assert takes(book)[-1].take == 3


def test_a_look_that_is_answered_both_ways_is_no_answer(plan, book):
    book.key_all(healthy(plan))
    book.key("valve.look", "3E", "0", note="burned at the edge")
    decision = book.decision("3E", "valve")
    assert decision.decision.value == "unsure"
    assert "contradict" in decision.reasons[0].text
