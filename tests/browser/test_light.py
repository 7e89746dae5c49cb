"""By day and under a lamp: what the browser prefers, a switch, and that it is remembered."""

import pytest

from tests.browser.pages import CONTRAST, expect, page_at, post

LIGHT = "document.documentElement.dataset.light"
GROUND = "getComputedStyle(document.querySelector('#measure')).backgroundColor"


@pytest.mark.parametrize("light", ["light", "dark"])
def test_contrast_is_at_least_4_5_in_both(browser, service, gauge, light):
    """WCAG 2.2, success criterion 1.4.3; relative luminance as defined there."""
    _, address = service
    post(address, "/jobs", {"number": "J-1", "plan": "four-by-two"})
    with page_at(browser, address, light=light) as page:
        expect(page, "#cautions", "sodium")
        expect(page, "#live_label", "reads 11.500 mm")
        assert page.evaluate(LIGHT) == light
        assert page.evaluate(CONTRAST) == []
        page.click("#skip")
        assert page.evaluate(CONTRAST) == []


def test_the_switch_is_remembered_until_it_says_what_the_browser_does(browser, service, gauge):
    _, address = service
    with page_at(browser, address) as page:
        expect(page, "[data-light-switch]", "Dark")
        bright = page.evaluate(GROUND)
        page.click("[data-light-switch]")
        expect(page, "[data-light-switch]", "Light")
        assert page.evaluate(GROUND) != bright
        page.goto(f"{address}job.html")
        assert page.evaluate(LIGHT) == "dark"
        page.click("[data-light-switch]")
        page.goto(address)
        expect(page, "[data-light-switch]", "Dark")
        page.emulate_media(color_scheme="dark")
        page.wait_for_function(f"() => {LIGHT} === 'dark'")
