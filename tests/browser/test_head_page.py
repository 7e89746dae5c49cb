"""The head of a job: every position, and one of them in full."""

from tests.browser.pages import CONTRAST, PLAN, expect, page_at, post


def captured(page, gauge):
    """Have the micrometer hold a stem still, until the record has it."""
    expect(page, "#position", "1I")
    gauge.show(6.971)
    expect(page, "#message", "Take it out.")


def test_a_position_is_opened_with_its_measurements_trace_limit_and_reasons(
    browser, service, gauge
):
    _, address = service
    post(address, "/plans", PLAN)
    job = post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})["id"]
    with page_at(browser, address) as page:
        captured(page, gauge)
        page.goto(f"{address}head.html")  # of the job on the bench
        expect(page, "#positions", "not measured")
        assert page.locator("#positions .sign svg path").count() == 2
        page.focus("#positions a")
        page.keyboard.press("Enter")
        expect(page, "#one_title", "1I")
        assert page.url == f"{address}head.html?job={job}&position=1I"
        expect(page, "#one", "12 mm deep, along")
        expect(page, "#one", "proven in")
        expect(page, "#one", "at least 6.95")
        expect(page, "#one", "micrometer, G-1042")
        page.click("#one .wide button")
        page.wait_for_selector("#one .picture polyline")
        expect(page, "#one [role=status]", "readings in")
        assert page.evaluate(CONTRAST) == []


def test_what_was_worked_on_stands_before_and_after(browser, service, gauge):
    _, address = service
    post(address, "/plans", PLAN)
    job = post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})["id"]
    at = f"/jobs/{job}"
    place = {"depth_mm": "12", "direction": "along"}
    stem = {"characteristic": "valve.stem_diameter", "position": "1I", "place": place}
    value = {**stem, "unit": "mm", "came": "keyed", "gauge": "outside micrometer"}
    post(address, f"{at}/measurements", {**value, "value": "6.941"})
    post(address, f"{at}/rework", {"position": "1I", "part": "valve", "what": "valve replaced"})
    post(address, f"{at}/measurements", {**value, "value": "6.972"})
    with page_at(browser, address, path=f"head.html?job={job}&position=1I") as page:
        expect(page, "#one", "valve replaced")
        expect(page, "#one", "counts no more")
        expect(
            page, "#one", "To be measured again: 1I stem diameter (12 mm deep, across)"
        )  # still to be measured again
        rows = page.locator("#one .wide").last.inner_text()
        assert "6.941" in rows
        assert "6.972" in rows
        assert page.locator("#one .gone").inner_text().startswith("6.941")


def test_the_head_page_fits_a_phone_and_says_what_is_not_there(browser, service, gauge):
    _, address = service
    job = post(address, "/jobs", {"number": "J-1", "plan": "four-by-two-whole"})["id"]
    with page_at(browser, address, "phone", path=f"head.html?job={job}&position=1E") as page:
        expect(page, "#one_title", "1E")
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        assert page.evaluate(CONTRAST) == []
    page = browser.new_page()
    page.goto(f"{address}head.html?job=none")
    expect(page, "#fault", "no job 'none'")
    page.close()
