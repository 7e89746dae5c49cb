"""No page shows a person a code where it can say the name."""

from daq.head.characteristic import CATALOGUE
from tests.browser.pages import expect, page_at, post


def codes_on(page):
    shown = page.evaluate("document.body.textContent")
    return [name for name in CATALOGUE if name in shown]


def test_the_sentences_of_the_bench_say_the_names_of_characteristics(browser, service, gauge):
    _, address = service
    job = post(address, "/jobs", {"number": "J-1", "plan": "four-by-two-whole"})["id"]
    width = {"characteristic": "seat.width", "position": "1I", "value": "1.5", "unit": "mm"}
    post(address, f"/jobs/{job}/measurements", {**width, "came": "keyed", "gauge": "caliper"})
    with page_at(browser, address, path=f"job.html?job={job}") as page:
        expect(page, "#work .note", "1I: seat width was measured while the guide is not measured")
        expect(page, "#open_points", "seat leak is not measured")
        assert codes_on(page) == []
        page.goto(f"{address}head.html?job={job}&position=1I")
        expect(page, "#one", "largest clearance cannot be worked out")
        assert codes_on(page) == []
        page.goto(address)
        expect(page, "#work .note", "seat width was measured")
        assert codes_on(page) == []
