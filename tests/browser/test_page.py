"""The page in a real browser, on a real service with a gauge on a pseudo serial port."""

import os

import pytest

from tests.browser.pages import CONTRAST, PLAN, SIZES, expect, page_at, post


def test_a_job_is_started_measured_and_seen(browser, service, gauge, tmp_path):
    _, address = service
    with page_at(browser, address) as page:
        expect(page, "#gauges", "11.500")
        gauge.show(11.25)
        expect(page, "#gauges", "11.250")
        expect(page, "#message", "Open a job.")
        assert page.is_disabled("#press")
        post(address, "/plans", PLAN)
        page.click("#new_job")
        page.wait_for_function("() => document.activeElement?.name === 'number'")
        # No plan is chosen for anybody; the browser itself asks for it, and for the number.
        assert page.input_value("[name=plan]") == ""
        page.fill("[name=number]", "J-1")
        page.click("#start button")
        assert "start.html" in page.url
        page.select_option("[name=plan]", "stems-only")
        page.click("#start button")
        expect(page, "#job", "J-1")
        expect(page, "#position", "1I")
        expect(page, "#what", "stem diameter")
        expect(page, "#place", "12 mm deep, along")
        gauge.show(6.971)
        expect(page, "#digits", "6.971")
        expect(page, "#message", "Take it out.")
        expect(page, "#digits", "6.97")
        expect(page, "#live_label", "proven in")
        expect(page, "#done .PASS", "proven in")
        expect(page, "#results", "proven in")
        assert page.locator("#results .badge svg path").count() >= 1
        expect(page, "#announce", "stem diameter")
        gauge.show(11.5)
        expect(page, "#place", "across")
        expect(page, "#left", "3 left")
        shots = os.environ.get("BENCHTALLY_SHOTS")
        if shots:
            page.screenshot(path=f"{shots}/job.png")


def test_the_page_knows_when_its_number_is_dead(browser, service, gauge):
    process, address = service
    with page_at(browser, address, may_lose=True) as page:
        expect(page, "#gauges", "11.500")
        assert page.evaluate("document.body.className") == ""
        process.kill()
        # Half a second without a frame; the rest is a slow machine's.
        page.wait_for_function("() => document.body.classList.contains('dead')", timeout=1500)
        expect(page, "#troubles", "The number is old")
        assert page.is_disabled("#press")
        assert page.is_disabled("#new_job")
        line = "getComputedStyle(document.querySelector('#digits')).textDecorationLine"
        assert page.evaluate(line) == "line-through"


def test_a_refused_command_is_answered_on_the_page(browser, service, gauge):
    _, address = service
    post(address, "/plans", PLAN)
    post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})
    with page_at(browser, address) as page:
        expect(page, "#job", "J-1")
        page.keyboard.press("s")
        expect(page, "#asking_title", "Skip")
        page.fill("#asking input[name=reason]", "no valve here")
        page.click("#asking_send")
        expect(page, "#place", "across")


@pytest.mark.parametrize("size", SIZES)
def test_everything_fits_and_can_be_reached(browser, service, gauge, size):
    _, address = service
    post(address, "/jobs", {"number": "J-1", "plan": "four-by-two"})
    with page_at(browser, address, size) as page:
        # Nothing has turned: where the plunger stands is said, but never as if it were a runout.
        expect(page, "#digits", "—")
        expect(page, "#live_label", "reads 11.500 mm")
        expect(page, "#cautions", "sodium")
        width, height = SIZES[size]
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        digits = page.evaluate(
            "parseFloat(getComputedStyle(document.querySelector('#number')).fontSize)"
        )
        if size == "bench":
            assert digits >= height / 6
            assert page.evaluate("document.documentElement.scrollHeight") <= height
        for box in page.evaluate(
            "[...document.querySelectorAll('button')]"
            ".filter(b => b.offsetParent && !b.closest('dialog'))"
            ".map(b => [b.id, b.offsetWidth, b.offsetHeight])"
        ):
            assert min(box[1:]) >= 46, box
        page.focus("#new_job")
        reached = set()
        for _ in range(20):
            reached.add(page.evaluate("document.activeElement.id"))
            page.keyboard.press("Tab")
        assert {"new_job", "again", "skip", "press", "ring", "sign"} <= reached - {""} | {"again"}


def test_contrast_is_at_least_4_5(browser, service, gauge):
    """WCAG 2.2, success criterion 1.4.3; relative luminance as defined there."""
    _, address = service
    post(address, "/jobs", {"number": "J-1", "plan": "four-by-two"})
    with page_at(browser, address) as page:
        expect(page, "#cautions", "sodium")
        # Nothing has turned: where the plunger stands is said, but never as if it were a runout.
        expect(page, "#digits", "—")
        expect(page, "#live_label", "reads 11.500 mm")
        assert page.evaluate(CONTRAST) == []
        page.click("#skip")
        assert page.evaluate(CONTRAST) == []


def test_a_label_leads_to_its_job_and_the_record_is_handed_on(browser, service, gauge):
    _, address = service
    post(address, "/plans", PLAN)
    job = post(address, "/jobs", {"number": "J-7", "plan": "stems-only"})["id"]
    page = browser.new_page()
    page.set_default_timeout(120_000)
    wrong = []
    page.on("console", lambda message: wrong.append(message.text))
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.goto(f"{address}job.html?job={job}&position=1E&part=valve")
    expect(page, ".scanned", "1E valve")
    expect(page, "#job", "Job J-7")
    page.select_option("#paper", "us-letter")
    with page.expect_download() as held:
        page.click("#formats a >> text=pdf")
    assert held.value.suggested_filename == "J-7.pdf"
    assert "paper=us-letter" in held.value.url
    page.goto(f"{address}job.html")
    expect(page, "#fault", "Which job?")
    page.goto(f"{address}job.html?job=none")
    expect(page, "#fault", "no job")
    page.close()
    # The last page asked for a job that is not there, which the browser says, too.
    assert [text for text in wrong if "404" not in text] == []
    with page_at(browser, address) as bench:
        expect(bench, "#job", "Job J-7")
        bench.click("#hand_on")
        expect(bench, "#job", "J-7: Invented single")
