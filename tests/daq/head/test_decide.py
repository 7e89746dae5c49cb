"""Each characteristic out of its limits: the decision, the reason, and the next act."""

import pytest

from daq.head.characteristic import CATALOGUE
from daq.head.decide import WHEN_OUT
from daq.head.deciding.outcome import Verdict
from daq.head.plan import Place


def only(decision, characteristic):
    found = [r for r in decision.reasons if r.characteristic == characteristic]
    assert found, [r.text for r in decision.reasons]
    return found[0]


def test_a_head_in_order_is_accepted_with_every_reason_named(measured, plan):
    view = measured().view
    assert {d.decision for d in view.decisions} == {Verdict.ACCEPT}
    assert view.verdict is Verdict.ACCEPT
    assert len(view.decisions) == 1 + 8 * 5
    runout = only(
        next(d for d in view.decisions if (d.position, d.part) == ("3E", "valve")),
        "valve.stem_runout",
    )
    assert "0.0080 mm ± 0.0017 is proven within at most 0.03 mm" in runout.text
    assert "guide value, not the maker's" in runout.text
    assert runout.limit_source.startswith("guide value, not the maker's: ")


# characteristic, value, part, decision, what the reason says, what is next
OUT = [
    ("head.clean", "0", "head", "rework", "no", "wash"),
    ("head.cracks", "0", "head", "rework", "no", "weld by a specialist"),
    ("head.flatness", "0.20", "head", "rework", "at most 0.1 mm", "its height leaves 0.34 mm"),
    ("head.height", "119.50", "head", "replace", "at least 119.60 mm", "least height"),
    ("guide.protrusion", "12.60", "guide", "rework", "11.7 to 12.3 mm", "drive the guide"),
    ("valve.look", "0", "valve", "replace", "look at face", "sodium"),
    ("valve.stem_runout", "0.045", "valve", "replace", "at most 0.03 mm", "not straightened"),
    ("valve.face_runout", "0.090", "valve", "rework", "wear limit", "0.13 mm along the axis"),
    ("valve.margin", "0.30", "valve", "replace", "at least", "not made thicker"),
    ("valve.length", "104.10", "valve", "replace", "at least 104.25 mm", "below the least length"),
    ("valve.free_movement", "0", "valve", "rework", "by its own weight", "burr"),
    ("valve.rebound", "0", "valve", "rework", "rebound", "clean stem"),
    ("seat.runout", "0.120", "seat", "rework", "at most 0.05 mm", "sinks the valve by about 0.12"),
    ("seat.width", "2.90", "seat", "rework", "mm", "narrow it"),
    ("seat.width", "0.60", "seat", "rework", "mm", "cut the seat wider"),
    ("valve.recess", "1.600", "valve", "rework", "1.6000 mm deep", "0.20 mm too deep: try a new"),
    ("valve.recess", "-0.200", "valve", "rework", "0.2000 mm proud", "cut the seat by 0.80 mm"),
    ("spring.free_length", "45.00", "spring", "replace", "at least 45.59 mm", "does not mend"),
    ("spring.squareness", "2.40", "spring", "replace", "at most 1.641 mm", "replace the spring"),
    ("spring.bow", "2.20", "spring", "replace", "at most 1.5 mm", "replace the spring"),
    (
        "spring.fitted_height",
        "38.90",
        "spring",
        "rework",
        "37.5 to 38.5",
        "shim the spring by 0.40",
    ),
    ("spring.fitted_height", "37.00", "spring", "rework", "37.5 to 38.5", "0.50 mm too low"),
    ("spring.fitted_height", "40.50", "spring", "rework", "37.5 to 38.5", "1.5 mm is the most"),
    ("spring.coil_gap", "0.30", "spring", "rework", "at least 1.0 mm", "the right spring"),
    ("seat.leak", "0.900", "seat", "rework", "the shop's own figure", "test again"),
    ("spring.washer", "0", "assembly", "rework", "washer or rotator", "put it right"),
    ("seal.fitted", "0", "assembly", "rework", "new seal on the guide", "put it right"),
    ("stem.oiled", "0", "assembly", "rework", "face and seat dry", "put it right"),
    ("cotter.new", "0", "assembly", "rework", "are the cotters new", "put it right"),
    ("cotter.seated", "0", "assembly", "rework", "sit in the groove", "put it right"),
]


@pytest.mark.parametrize(("name", "value", "part", "decided", "said", "next_"), OUT)
def test_what_is_out_condemns_its_part_alone(measured, name, value, part, decided, said, next_):
    position = "head" if part == "head" else "3E"
    made = measured({(name, position): value})
    decision = made.decision(position, part)
    assert decision.decision.value == decided
    reason = only(decision, name)
    assert reason.measurement_id
    assert said in reason.text
    assert next_ in reason.next
    others = [d for d in made.view.decisions if d != decision]
    assert {d.decision for d in others} == {Verdict.ACCEPT}


def test_every_characteristic_of_the_catalogue_has_its_rule():
    assert set(WHEN_OUT) == set(CATALOGUE)


def test_a_weak_spring_is_replaced_at_whichever_length(book, plan, measured):
    made = measured()
    made.key("spring.load", "2I", "460", Place(length_mm="29.0"))
    made.key("spring.load", "2I", "462", Place(length_mm="29.0"))
    decision = made.decision("2I", "spring")
    # The first take says 515 N: three takes that contradict each other prove nothing.
    assert decision.decision.value == "unsure"
    assert "contradict" in decision.reasons[0].text
    assert "void the take that was wrong" in decision.reasons[0].next


class TestPair:
    def test_a_worn_guide_is_named_and_its_valve_stays(self, measured):
        made = measured({("guide.diameter", "2E"): "7.110"})
        assert made.verdict("2E", "valve") == "accept"
        reason = only(made.decision("2E", "guide"), "guide.clearance_max")
        assert reason.verdict is Verdict.REWORK
        assert "largest bore 7.1100 mm (+0.100 mm" in reason.next
        assert "smallest stem 6.9520 mm (-0.018 mm" in reason.next
        assert (
            "The guide is worn: knurl and ream it (up to 0.0508 mm over, TM 9-2815-255-24), renew "
            "it, or ream it for the next oversize stem (+0.381 mm)"
        ) in reason.next
        assert (reason.act.part, reason.act.what) == ("guide", "renewed")

    def test_a_worn_stem_is_replaced_and_its_guide_waits(self, measured):
        made = measured({("valve.stem_diameter", "2E"): "6.860"})
        valve = made.decision("2E", "valve")
        assert valve.decision.value == "replace"
        assert "the stem is worn" in only(valve, "guide.clearance_max").text
        guide = made.decision("2E", "guide")
        assert guide.decision.value == "unsure"
        assert "a valve as new fits this guide" in only(guide, "guide.clearance_max").next

    def test_both_worn_go_as_a_pair(self, measured):
        made = measured({("valve.stem_diameter", "2E"): "6.860", ("guide.diameter", "2E"): "7.120"})
        assert made.verdict("2E", "valve") == "replace"
        reason = only(made.decision("2E", "guide"), "guide.clearance_max")
        assert "renew guide and valve as a pair" in reason.next

    def test_each_part_alone_may_pass_and_the_pair_still_fail(self, measured):
        # Engine maker and TM 9-2815-225-34&P show such pairs: judge the pair, too.
        made = measured({("valve.stem_diameter", "2E"): "6.920", ("guide.diameter", "2E"): "7.072"})
        reason = only(made.decision("2E", "guide"), "guide.clearance_max")
        assert reason.verdict is Verdict.REWORK
        assert "The guide is worn more" in reason.next
        # Nothing of a pair that is out is good to go before the pair is.
        valve = made.decision("2E", "valve")
        assert valve.decision is Verdict.UNSURE
        assert "measure the pair again" in only(valve, "guide.clearance_max").next

    def test_where_the_stem_is_worn_more_its_guide_is_not_accepted_either(self, measured):
        made = measured({("valve.stem_diameter", "2E"): "6.900", ("guide.diameter", "2E"): "7.045"})
        assert made.verdict("2E", "valve") == "replace"
        guide = made.decision("2E", "guide")
        assert guide.decision is Verdict.UNSURE
        assert "Each would do with a new partner" in only(guide, "guide.clearance_max").next

    def test_a_stem_that_may_yet_fit_is_not_replaced_because_its_guide_is_worn(self, measured):
        # The guide is far out; the stem lies too near to what a guide as new allows.
        made = measured({("valve.stem_diameter", "2E"): "6.881", ("guide.diameter", "2E"): "7.140"})
        valve = made.decision("2E", "valve")
        assert valve.decision is Verdict.UNSURE
        assert "renew the guide first" in only(valve, "guide.clearance_max").next
        assert made.verdict("2E", "guide") == "rework"

    def test_a_tight_guide_is_reamed(self, measured):
        made = measured({("guide.diameter", "2I"): "6.985"})
        reason = only(made.decision("2I", "guide"), "guide.clearance_min")
        assert reason.verdict is Verdict.REWORK
        assert "Ream the guide" in reason.next
        assert made.verdict("2I", "valve") == "accept"

    def test_a_stem_thicker_than_any_is_asked_about(self, measured):
        made = measured({("valve.stem_diameter", "2I"): "7.001"})
        assert made.verdict("2I", "valve") == "unsure"
        assert made.verdict("2I", "guide") == "rework"
        assert (
            "is it the right valve"
            in only(made.decision("2I", "valve"), "guide.clearance_min").next
        )

    def test_a_valve_is_not_accepted_before_its_guide_is_measured(self, plan, book):
        from tests.generators.healthy import healthy

        book.key_all(row for row in healthy(plan) if row[:2] != ("guide.diameter", "2I"))
        decision = book.decision("2I", "valve")
        assert decision.decision.value == "not measured"
        assert "judged in its guide" in decision.reasons[0].text

    def test_one_bell_mouth_is_enough(self, measured, plan):
        made = measured()
        deep, across = max(p.depth_mm for p in plan.step("guide.diameter").places), "across"
        place = Place(depth_mm=deep, direction=across)
        first = next(
            e
            for e in made.entries
            if e.body.get("characteristic") == "guide.diameter"
            and e.body["position"] == "3I"
            and e.body["place"] == {"depth_mm": str(deep), "direction": across}
        )
        made.void(first)
        made.key("guide.diameter", "3I", "7.095", place)
        assert made.verdict("3I", "guide") == "rework"


class TestRefacing:
    def test_only_while_the_margin_allows(self, measured):
        thin = measured({("valve.face_runout", "3E"): "0.150", ("valve.margin", "3E"): "0.86"})
        decision = thin.decision("3E", "valve")
        assert decision.decision.value == "replace"
        assert "0.21 mm of the margin, and" in only(decision, "valve.face_runout").next

    def test_after_a_margin_was_measured(self, plan, book):
        from tests.generators.healthy import healthy

        values = healthy(plan, {("valve.face_runout", "3E"): "0.150"})
        book.key_all(row for row in values if row[:2] != ("valve.margin", "3E"))
        reason = only(book.decision("3E", "valve"), "valve.face_runout")
        assert "measure the margin first" in reason.next

    def test_a_seat_without_metal_left_gets_a_new_insert(self, measured):
        made = measured({("seat.runout", "3E"): "0.120", ("valve.recess", "3E"): "1.35"})
        decision = made.decision("3E", "seat")
        assert decision.decision.value == "replace"
        assert "renew the seat insert" in decision.reasons[0].next
        assert "valve.recess leaves" in decision.reasons[0].next

    def test_a_shim_is_no_help_where_the_coils_touch(self, measured):
        made = measured(
            {("spring.fitted_height", "3E"): "39.20", ("spring.coil_gap", "3E"): "1.30"}
        )
        assert (
            "the coils leave only 0.30 mm"
            in only(made.decision("3E", "spring"), "spring.fitted_height").next
        )

    def test_a_head_without_height_left_is_replaced(self, measured):
        made = measured({("head.flatness", "head"): "0.20", ("head.height", "head"): "119.70"})
        assert made.verdict("head", "head") == "replace"
