"""Sorting valves to guides: against every order there is, and never worse than leaving them."""

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from daq.head.layout import side_of
from daq.head.match import PAIRS_MAX, Size, Zone, as_they_are, best
from daq.metrology.conformity import Conformity, judge

ZONES = {"I": Zone(0.020, 0.100), "E": Zone(0.045, 0.130)}
POSITIONS = ("1I", "1E", "2I", "2E", "3I", "3E", "4I", "4E", "5I", "5E")
# Tenths of a micrometre: ties are as likely as they are on a bench.
_WEAR = st.integers(0, 12).map(lambda n: n * 0.008)
_OVAL = st.integers(0, 4).map(lambda n: n * 0.003)


@st.composite
def heads(draw, positions_max=8):
    count = draw(st.integers(1, positions_max))
    positions = POSITIONS[:count]
    stems, bores = [], []
    for position in positions:
        mean, oval = 6.97 - draw(_WEAR) / 2, draw(_OVAL)
        stems.append(Size(position, mean - oval, mean + oval, mean, 0.001))
        mean, oval = 7.005 + draw(_WEAR), draw(_OVAL)
        bores.append(Size(position, mean - oval, mean + oval, mean, 0.001))
    staying = draw(st.sets(st.sampled_from(positions)))
    return stems, bores, {p: ZONES[side_of(p)] for p in positions}, staying


def rank_of(stems, bores, zones, order):
    """The same preference, worked out one pair at a time and with the judge itself."""
    parts = off = moved = 0
    for bore, number in zip(bores, order, strict=True):
        stem, zone = stems[number], zones[bore.position]
        u = (stem.u_mm**2 + bore.u_mm**2) ** 0.5
        most = judge(bore.largest_mm - stem.smallest_mm, u, None, zone.most_mm)
        least = judge(bore.smallest_mm - stem.largest_mm, u, zone.least_mm, None)
        parts += not (most is least is Conformity.PROVEN_IN)
        off += round(abs(bore.mean_mm - stem.mean_mm - zone.middle_mm) / 1e-4) ** 2
        moved += stem.position != bore.position
    return (parts, off, moved)


@settings(deadline=None)
@given(heads(positions_max=7))
def test_no_other_order_is_better(head):
    stems, bores, zones, staying = head
    found = best(stems, bores, zones, staying=staying)
    allowed = [
        order
        for order in itertools.permutations(range(len(stems)))
        if all(
            side_of(stems[valve].position) == side_of(bores[guide].position)
            and (guide == valve or not {stems[valve].position, bores[guide].position} & staying)
            for guide, valve in enumerate(order)
        )
    ]
    assert found.rank == min(rank_of(stems, bores, zones, order) for order in allowed)


@settings(deadline=None)
@given(heads(positions_max=10))
def test_never_worse_than_leaving_them_where_they_are(head):
    stems, bores, zones, staying = head
    before = as_they_are(stems, bores, zones)
    after = best(stems, bores, zones, staying=staying)
    assert after.parts_replaced <= before.parts_replaced
    assert after.rank <= before.rank
    assert sorted(p.valve for p in after.pairings) == sorted(p.guide for p in after.pairings)
    for pairing in after.pairings:
        assert side_of(pairing.valve) == side_of(pairing.guide)
        if {pairing.valve, pairing.guide} & staying:
            assert pairing.valve == pairing.guide


def one(position, mean):
    return Size(position, mean, mean, mean, 0.0005)


def test_a_thick_stem_saves_a_worn_guide():
    zones = {"1I": ZONES["I"], "2I": ZONES["I"]}
    stems = [one("1I", 6.930), one("2I", 6.975)]
    bores = [one("1I", 7.040), one("2I", 7.005)]
    assert as_they_are(stems, bores, zones).parts_replaced == 1
    found = best(stems, bores, zones)
    assert [(p.valve, p.guide) for p in found.pairings] == [("2I", "1I"), ("1I", "2I")]
    assert (found.parts_replaced, found.moved) == (0, 2)
    assert found.pairings[0].clearance_mean_mm == pytest.approx(0.065)
    assert best(stems, bores, zones, staying={"2I"}).moved == 0


def test_a_pair_that_is_not_proven_counts_as_not_fitting():
    zones = {"1I": ZONES["I"]}
    stem, bore = one("1I", 6.9350), one("1I", 7.0345)
    assert bore.mean_mm - stem.mean_mm < zones["1I"].most_mm
    assert best([stem], [bore], zones).parts_replaced == 1


def test_of_equal_sortings_the_one_that_moves_least():
    zones = dict.fromkeys(("1I", "2I", "3I"), ZONES["I"])
    stems = [one(p, 6.95) for p in zones]
    bores = [one(p, 7.01) for p in zones]
    assert best(stems, bores, zones).moved == 0


def test_what_cannot_be_sorted_is_refused():
    with pytest.raises(ValueError, match="same positions in the same order"):
        best([one("1I", 7.0)], [one("2I", 7.0)], {"2I": ZONES["I"]})
    many = [one("1I", 7.0)] * 2
    with pytest.raises(ValueError, match="each once"):
        best(many, many, {"1I": ZONES["I"]})
    crowd = [one(f"{n % 90 + 1}{'IE'[n // 90]}", 7.0) for n in range(PAIRS_MAX + 1)]
    with pytest.raises(ValueError, match="at most 128"):
        best(crowd, crowd, {size.position: ZONES["I"] for size in crowd})


def test_the_largest_costs_are_still_exact():
    pairs, steps = PAIRS_MAX, 5000
    weight_part = (pairs + 1) * (pairs * steps**2 + 1)
    assert pairs * (weight_part + (pairs + 1) * steps**2 + 1) < 2**53
