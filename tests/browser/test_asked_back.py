"""What the bench asks back of a form: a gauge that hangs free, °F for °C, a zero that moved."""

from tests.browser.pages import PLAN, expect, page_at, post
from tests.browser.readings import kept, record
from tests.browser.test_gauges_page import RING, zero_once_it_is_still

GAUGES = """
[[gauge]]
name = "runout indicator"
serial = "G-1"
port = "{runout}"
profile = "plain-line"
resolution_mm = 0.001
measures = ["valve.stem_runout"]

[[gauge]]
name = "bore gauge"
serial = "G-3"
port = "{bore}"
profile = "plain-line"
resolution_mm = 0.001
measures = ["guide.diameter"]
"""


def noted(address, job, kind):
    return [each["body"] for each in record(address, job)["notes"] if each["kind"] == kind]


def test_what_is_asked_about_is_sent_by_its_own_answer_only(browser, serve, speaker):
    runout, bore = speaker("runout", at_mm=0.3), speaker("bore", at_mm=0.9)
    tables = GAUGES.format(runout=runout.port.path, bore=bore.port.path) + RING
    address = serve(tables).address
    job = post(address, "/jobs", {"number": "J-1", "plan": "four-by-two"})["id"]
    with page_at(browser, address, refused=3) as page:
        expect(page, "#gauges", "bore gauge")
        expect(page, "#gauges", "0.900")
        page.click("#temperature")
        page.fill("[name=part_c]", "68")
        page.fill("[name=gauge_c]", "68")
        page.click("#asking_send")
        expect(page, "#asking_fault", "if 68 was read off in °F, it is 20.0 °C")
        expect(page, "#asking_send", "It is right: keep it")
        page.fill("[name=part_c]", "67")  # another one: it is asked about anew
        expect(page, "#asking_send", "Do it")
        page.click("#asking_send")
        expect(page, "#asking_fault", "if 67 was read off in °F")
        assert noted(address, job, "temperature.noted") == []
        page.click("#asking_send")
        page.wait_for_selector("#asking", state="hidden")
        assert [body["part_c"] for body in noted(address, job, "temperature.noted")] == ["67"]
        # The runout is up, and its indicator reads no ring.
        page.click("#ring")
        page.wait_for_selector("#asking[open]")
        gauges = "[...document.querySelectorAll('#asking [name=gauge] option')].map((o) => o.value)"
        assert page.evaluate(gauges) == ["bore gauge"]
        page.click("#asking_send")
        expect(page, "#asking_fault", "not hanging free?")
        assert noted(address, job, "gauge.zeroed") == []
        page.click("#asking_cancel")
        bore.show(0.02)
        expect(page, "#gauges", "0.020")
        zero_once_it_is_still(address, job, "bore gauge")
        before = {"gauge": "bore gauge", "ring": "ring 7", "shown_mm": "0"}
        post(address, f"/jobs/{job}/zero", before)
        page.click("#ring")
        page.click("#asking_send")
        page.wait_for_selector("#asking", state="hidden")
        expect(page, "#notice", "its zero moved by +0.0200 mm")


def test_a_micrometer_that_went_on_after_it_paused_is_asked_about(browser, service, gauge):
    _, address = service
    post(address, "/plans", PLAN)
    job = post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})["id"]
    with page_at(browser, address) as page:
        expect(page, "#place", "along")
        gauge.show(7.05)
        expect(page, "#message", "Take it out.")
        gauge.show(6.97)
        expect(page, "#doubt", "It went on to 6.97")
        gauge.show(11.5)  # out without an answer
        expect(page, "#gauges", "11.500")
        assert kept(address, job) == [7.05]
        page.click("#doubt_again")
        expect(page, "#left", "4 left")
        gauge.show(6.97)
        expect(page, "#left", "3 left")
        assert kept(address, job) == [6.97]
