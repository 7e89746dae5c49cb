"""What work makes untrue, what it makes new, and what stood before and after it."""

import pytest

from daq.head.characteristic import CATALOGUE
from daq.head.errors import RefusedError, UnknownError
from daq.head.place import Place
from daq.head.rework import WORK, work_on
from tests.generators.healthy import good_value

# The order of the trade: guide work spoils what its pilot centred, seat work sinks the valve,
# skimming takes the face away (TM 10-3930-621-34 p. 3-8; TM 5-3810-306-34).
VOIDS = {
    ("guide", "renewed"): {"seat.runout", "seat.width", "valve.recess", "seat.leak"},
    ("guide", "reamed"): {"seat.runout", "seat.width", "valve.recess", "seat.leak"},
    ("seat", "cut"): {"valve.recess", "spring.fitted_height", "seat.leak"},
    ("seat", "renewed"): {"valve.recess", "spring.fitted_height", "seat.leak"},
    ("seat", "lapped"): {"valve.recess", "spring.fitted_height", "seat.leak"},
    ("valve", "refaced"): {"valve.face_runout", "valve.margin", "valve.recess", "seat.leak"},
    ("valve", "replaced"): {"valve.stem_diameter", "valve.stem_runout", "valve.recess"},
    ("head", "skimmed"): {"head.flatness", "head.height", "valve.recess"},
    ("spring", "replaced"): {"spring.free_length", "spring.load", "spring.squareness"},
    ("spring", "shimmed"): {"spring.fitted_height", "spring.coil_gap"},
}


@pytest.mark.parametrize(("part", "act"), VOIDS)
def test_the_trade_says_what_is_untrue_then(part, act):
    assert VOIDS[part, act] <= set(WORK[part, act].voids)


def test_work_names_only_what_exists_and_renews_only_what_it_voids():
    for work in WORK.values():
        assert set(work.voids) <= set(CATALOGUE)
        derived = {name for name in work.renews if CATALOGUE[name].capture is None}
        assert set(work.renews) - derived <= set(work.voids)
        assert len(set(work.voids)) == len(work.voids)


def test_the_word_may_stand_in_what_was_done():
    assert work_on("seat", None, "cut at 45°, narrowed").act == "cut"
    assert work_on("guide", None, "renewed, bronze").act == "renewed"
    vague = work_on("valve", None, "seen to")
    assert vague.act == "worked on"
    for (part, _), work in WORK.items():
        if part == "valve":
            assert set(work.voids) <= set(vague.voids)
    both = work_on("valve", None, "not replaced, only refaced")
    assert set(both.voids) >= set(WORK["valve", "replaced"].voids)


def test_unknown_work_is_answered_with_what_there_is(book):
    with pytest.raises(UnknownError, match="it is renewed, reamed"):
        work_on("guide", "polished")
    with pytest.raises(UnknownError, match="'piston' is not one of"):
        work_on("piston", None)
    with pytest.raises(RefusedError, match="at a position like 'head'"):
        book.rework("1I", "head", "skimmed")
    with pytest.raises(RefusedError, match="at a position like '1I'"):
        book.rework("head", "guide", "renewed")


def test_what_guide_work_spoils_is_asked_for_again(measured):
    made = measured({("guide.diameter", "2E"): "7.110"})
    assert made.record.remaining == ()
    made.rework("2E", "guide", "renewed", "new bronze guide")
    left = {target.characteristic for target in made.record.remaining}
    assert left == {
        *("guide.diameter", "guide.protrusion", "valve.free_movement", "valve.rebound"),
        *("seat.runout", "seat.width", "valve.recess", "seat.leak", "seal.fitted"),
    }
    assert {target.position for target in made.record.remaining} == {"2E"}
    for part in ("guide", "seat", "valve", "assembly"):
        assert made.verdict("2E", part) == "not measured", part
    assert made.verdict("2E", "spring") == "accept"
    reason = made.decision("2E", "seat").reasons[0]
    assert reason.text == (
        "seat.runout is not measured again since the guide was renewed: new bronze guide"
    )


def test_after_work_the_limit_for_new_holds_and_before_and_after_stand_side_by_side(measured, plan):
    made = measured({("guide.diameter", "2I"): "7.060"})
    # Worn, but within the wear limit of 0.10 mm: accepted as found.
    assert made.verdict("2I", "guide") == "accept"
    work = made.rework("2I", "guide", "reamed")
    for place in plan.step("guide.diameter").places:
        made.key("guide.diameter", "2I", "7.0350", place)
    clearance = next(
        m
        for m in made.view.measurements
        if (m.characteristic, m.position) == ("guide.clearance_max", "2I")
    )
    # 7.0350 − 6.971 = 0.064 mm: good as worn, too much for new (0.055 mm).
    assert str(clearance.limits.upper) == "0.055"
    assert clearance.limit_source.startswith("limit for new; ")
    assert "(guide: done)" in clearance.limit_source
    assert clearance.status.value == "FAIL"
    shown = next(each for each in made.view.reworks if each.id == work.id)
    assert (shown.act, shown.part) == ("reamed", "guide")
    bores = [c for c in shown.changes if c.characteristic == "guide.diameter"]
    assert {(float(c.before), float(c.after)) for c in bores} == {(7.06, 7.035)}
    pair = next(c for c in shown.changes if c.characteristic == "guide.clearance_max")
    assert (float(pair.before), float(pair.after)) == (0.089, 0.064)
    recess = next(c for c in shown.changes if c.characteristic == "valve.recess")
    assert (float(recess.before), recess.after) == (0.9, None)
    assert "2I valve.recess" in shown.again
    assert not any("guide.diameter" in each for each in shown.again)


def test_two_works_keep_each_its_own_before_and_after(measured):
    made = measured()
    first = made.rework("3E", "seat", "cut")
    made.key("valve.recess", "3E", "1.000")
    second = made.rework("3E", "seat", "cut", "once more")
    made.key("valve.recess", "3E", "1.080")
    shown = {each.id: each for each in made.view.reworks}

    def recess(work):
        found = [c for c in shown[work.id].changes if c.characteristic == "valve.recess"]
        return float(found[0].before), float(found[0].after)

    assert recess(first) == (0.9, 1.0)
    assert recess(second) == (1.0, 1.08)
    takes = [m for m in made.view.measurements if m.characteristic == "valve.recess"]
    mine = [m for m in takes if m.position == "3E"]
    assert [(m.superseded, m.take) for m in mine] == [(True, 1), (True, 2), (False, 3)]
    # Seat work switches the recess to the limit for new: 1.10 mm, not 1.40 mm.
    assert [str(m.limits.upper) for m in mine] == ["1.40", "1.10", "1.10"]


def test_skimming_reaches_every_position(measured):
    made = measured()
    made.rework("head", "head", "skimmed", "0.15 mm off")
    left = {(t.characteristic, t.position) for t in made.record.remaining}
    assert {p for c, p in left if c == "valve.recess"} == set(made.plan.head.positions)
    assert ("head.flatness", "head") in left
    assert made.verdict("1I", "valve") == "not measured"
    assert "since the head (head) was skimmed" in made.decision("1I", "valve").reasons[0].text


def test_a_ground_tip_is_not_made_new(measured):
    made = measured()
    made.rework("3E", "valve", "tip ground")
    made.key("valve.length", "3E", "104.30")
    made.key("valve.look", "3E", "1")
    made.key("cotter.seated", "3E", "1")
    assert made.verdict("3E", "valve") == "accept"


def test_a_bent_valve_that_was_replaced_and_measured_again_is_accepted(measured, plan):
    made = measured({("valve.stem_runout", "3E"): "0.200"})
    assert made.verdict("3E", "valve") == "replace"
    made.rework("3E", "valve", "replaced")
    while made.record.remaining:
        target = made.record.remaining[0]
        made.key(target.characteristic, "3E", good_value(*target), target.place)
    assert made.verdict("3E", "valve") == "accept"
    assert made.view.verdict.value == "accept"
    shown = made.view.reworks[0]
    runout = next(c for c in shown.changes if c.characteristic == "valve.stem_runout")
    assert (float(runout.before), float(runout.after)) == (0.2, 0.008)
    assert shown.again == ()


def test_what_was_done_to_the_part_before_is_not_done_to_the_new_one(measured):
    made = measured({("valve.face_runout", "3E"): "0.090", ("seat.leak", "2E"): "0.900"})

    def act(position, part):
        return made.decision(position, part).reasons[0].act.what

    assert act("3E", "valve") == "refaced"
    made.rework("3E", "valve", "refaced")
    made.key("valve.face_runout", "3E", "0.090")
    assert act("3E", "valve") == "replaced"
    made.rework("3E", "valve", "replaced")
    made.key("valve.face_runout", "3E", "0.090")
    assert act("3E", "valve") == "refaced"
    made.rework("2E", "seat", "lapped")
    made.key("seat.leak", "2E", "0.900")
    assert act("2E", "seat") == "cut"
    made.rework("2E", "seat", "cut")
    made.key("seat.leak", "2E", "0.900")
    assert act("2E", "seat") == "lapped"


class TestLeftOut:
    def test_a_missing_part_is_not_measured_and_says_so(self, measured):
        made = measured()
        made.rework("3E", "spring", "replaced")
        made.skip("spring.bow", "3E", because="missing", reason="the spring is at the customer's")
        assert ("spring.bow", "3E", None) not in made.record.remaining
        decision = made.decision("3E", "spring")
        assert decision.decision.value == "not measured"
        said = next(r for r in decision.reasons if r.characteristic == "spring.bow")
        assert said.text == (
            "spring.bow was left out by A. Person: the spring is at the customer's (missing)"
        )
        assert "order" in said.next
        assert [each.characteristic for each in made.view.left_out] == ["spring.bow"]

    def test_scrap_is_replaced_and_nothing_signs_it_back(self, book):
        book.skip("valve.stem_runout", "3E", because="scrap", reason="burned through")
        decision = book.decision("3E", "valve")
        assert decision.decision.value == "replace"
        assert "burned through (scrap already)" in decision.reasons[0].text

    def test_measured_after_all_or_a_new_part_lifts_it(self, book):
        book.skip("valve.stem_runout", "3E", because="scrap", reason="burned through")
        book.rework("3E", "valve", "replaced")
        assert ("valve.stem_runout", "3E", None) in book.record.remaining
        assert book.verdict("3E", "valve") == "not measured"
        book.skip("valve.stem_runout", "2E")
        book.key("valve.stem_runout", "2E", "0.008")
        assert book.view.left_out == ()

    def test_one_place_of_several(self, book):
        place = Place(depth_mm="12", direction="along")
        book.skip("valve.stem_diameter", "3E", place, reason="scored there")
        texts = [r.text for r in book.decision("3E", "valve").reasons]
        assert "valve.stem_diameter (12 mm deep, along) was left out" in " ".join(texts)
