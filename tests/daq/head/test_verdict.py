"""A head is as good as its worst part."""

import itertools

import pytest

from daq.head.decide import Decision, Verdict
from daq.head.verdict import verdict_of


def decided(*verdicts: Verdict) -> list[Decision]:
    return [
        Decision(position=f"{n}I", part="valve", decision=verdict, reasons=())
        for n, verdict in enumerate(verdicts, 1)
    ]


@pytest.mark.parametrize(("one", "other"), list(itertools.product(Verdict, Verdict)))
def test_only_accept_and_accept_make_accept(one, other):
    whole = verdict_of(decided(one, other))
    assert (whole is Verdict.ACCEPT) == (one is other is Verdict.ACCEPT)
    assert whole in {one, other}
    assert verdict_of(decided(other, one)) is whole


def test_a_head_of_which_nothing_is_known_is_not_measured():
    assert verdict_of([]) is Verdict.NOT_MEASURED
