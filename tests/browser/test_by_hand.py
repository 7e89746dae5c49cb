"""What has no wire: keyed and shown back, looked at and answered, asked about and decided."""

from tests.browser.pages import MICROMETER, PLAN, expect, page_at, post
from tests.browser.readings import kept, measurements

LOOKS = {
    "name": "looks-only",
    "title": "Invented single, looked at",
    "source": "invented for a test",
    "head": {"cylinders": 1},
    "steps": [{"characteristic": "valve.look"}],
}
SEEN = "all => all.filter(each => each.checkVisibility()).map(each => each.id)"


def test_a_keyed_value_is_shown_back_and_an_odd_one_is_asked_about(browser, service, gauge):
    _, address = service
    post(address, "/plans", PLAN)
    job = post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})["id"]
    with page_at(browser, address) as page:
        expect(page, "#place", "along")
        page.click("#key_in")
        for key in "6.961":
            page.click(f"#keypad button >> text='{key}'")
        expect(page, "#entered_digits", "6.961")
        page.click("#show_back")
        expect(page, "#back", "6.961 mm")
        assert kept(address, job) == []
        page.click("#keep_it")
        expect(page, "#left", "3 left")
        page.click("#key_in")
        page.wait_for_selector("#hand:not([hidden])")
        page.keyboard.type("69.62", delay=60)  # a slip of the point
        page.keyboard.press("Enter")
        page.wait_for_selector("#back .asked")
        page.keyboard.press("Enter")  # which keeps nothing that is odd
        page.click("#measure_again")
        page.keyboard.type("6.962", delay=60)
        page.keyboard.press("Enter")
        expect(page, "#back", "6.962 mm")
        page.click("#keep_it")
        expect(page, "#left", "2 left")
    assert kept(address, job) == [6.961, 6.962]


def test_a_look_is_answered_and_what_cannot_be_told_is_not_measured(browser, service, gauge):
    _, address = service
    post(address, "/plans", LOOKS)
    job = post(address, "/jobs", {"number": "J-1", "plan": "looks-only"})["id"]
    with page_at(browser, address) as page:
        expect(page, "#look_for", "face, tip, stem")
        expect(page, "#look_cautions", "sodium")
        page.wait_for_selector("#press:disabled")
        page.click("#look_good")
        expect(page, "#left", "1 left")
        expect(page, "#position", "1E")
        page.click("#look_unsure")
        expect(page, "#left", "Everything is measured")
    assert [(m["position"], float(m["value"])) for m in measurements(address, job)] == [("1I", 1)]


def test_a_look_that_is_not_good_is_a_no_and_proves_nothing(browser, service, gauge):
    _, address = service
    post(address, "/plans", LOOKS)
    post(address, "/jobs", {"number": "J-1", "plan": "looks-only"})
    with page_at(browser, address) as page:
        expect(page, "#look_for", "face, tip, stem")
        page.click("#look_bad")
        expect(page, "#results .FAIL", "No, not good")
        assert "proven" not in page.inner_text("#results")


def test_a_question_of_the_bench_is_answered_on_the_page(browser, service, gauge):
    """A stem unlike its neighbours is not kept by itself, only by who says that it is right."""
    _, address = service
    post(address, "/plans", {**PLAN, "head": {"cylinders": 4}})
    job = post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})["id"]
    stem = {"characteristic": "valve.stem_diameter", "unit": "mm", "came": "keyed"}
    for position in ("2I", "3I", "4I"):
        for direction in ("along", "across"):
            place = {"depth_mm": "12", "direction": direction}
            sent = {**stem, "position": position, "value": "6.962", "place": place}
            post(address, f"/jobs/{job}/measurements", sent)
    with page_at(browser, address) as page:
        expect(page, "#left", "10 left")
        gauge.show(6.602)
        expect(page, "#doubt .asked", "is this really 1I")
        assert page.is_hidden("#live")
        page.click("#doubt_again")
        page.wait_for_selector("#doubt", state="hidden")
        assert len(kept(address, job)) == 6
        gauge.show(11.5)
        expect(page, "#digits", "11.500")
        gauge.show(6.602)
        expect(page, "#doubt .asked", "is this really 1I")
        page.click("#doubt_keep")
        expect(page, "#left", "9 left")
    found = [m for m in measurements(address, job) if m["position"] == "1I"]
    assert [(m["status"], m["value"]) for m in found if m["status"] != "VOID"] == [
        ("FAIL", "6.6020")
    ]
    assert any("Kept by a press although" in each for each in found[-1]["warnings"])


def test_while_a_value_is_keyed_one_button_leads_on(browser, service, gauge):
    """The pad's own: a press of the bench would be no answer to the digits that stand there."""
    _, address = service
    post(address, "/plans", PLAN)
    post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})
    with page_at(browser, address) as page:
        expect(page, "#place", "along")
        assert page.eval_on_selector_all("button.main", SEEN) == ["press"]
        page.click("#key_in")
        page.wait_for_selector("#hand:not([hidden])")
        page.wait_for_selector("#press:disabled")
        assert page.eval_on_selector_all("button.main", SEEN) == ["show_back"]
        page.keyboard.type("6.961", delay=60)
        page.keyboard.press("Enter")
        expect(page, "#back", "6.961 mm")
        assert page.eval_on_selector_all("button.main", SEEN) == ["keep_it"]


LOADS = {
    "name": "loads-only",
    "title": "Invented single, springs pressed",
    "source": "invented for a test",
    "head": {"cylinders": 1},
    "steps": [
        {
            "characteristic": "spring.load",
            "at": [{"length_mm": "38.0", "height": "fitted", "nominal_n": "260"}],
        }
    ],
}
TESTER = """
measures = ["valve.stem_diameter"]
[[tool]]
name = "spring tester 2"
kind = "spring tester"
serial = "T-12"
error_limit = 2.0
"""


def test_a_tool_of_the_bench_is_in_the_hand_before_its_kind(browser, serve, gauge):
    address = serve(MICROMETER.format(port=gauge.port.path) + TESTER).address
    post(address, "/plans", LOADS)
    post(address, "/jobs", {"number": "J-1", "plan": "loads-only"})
    with page_at(browser, address) as page:
        page.wait_for_selector("#hand:not([hidden])")
        assert page.input_value("#tool") == "spring tester 2"
        page.keyboard.type("250", delay=60)
        page.keyboard.press("Enter")
        expect(page, "#back", "Read off: spring tester 2")
