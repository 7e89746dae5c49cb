"""Millimetres or inches on the page: what is shown changes, what is kept does not."""

import json
import urllib.request

import pytest

from tests.browser.pages import PLAN, expect, page_at, post

SHOWN = """
async () => {
  const { shownLength } = await import("/length.js");
  const limits = { lower: "6.95", upper: "6.98" };
  return shownLength({ value: "6.971", unit: "mm", uncertainty: "0.0021", limits });
}
"""


def test_lengths_are_shown_in_inches_and_kept_in_millimetres(browser, service, gauge):
    _, address = service
    post(address, "/plans", PLAN)
    job = post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})["id"]
    with page_at(browser, address) as page:
        expect(page, "#limit", "at least 6.95 mm")
        page.click("[data-length-switch]")
        expect(page, "#limit", "at least 0.27363 in")
        expect(page, "#gauges", "0.4528 in")
        gauge.show(6.971)
        expect(page, "#message", "Take it out.")
        expect(page, "#unit", "in")
        assert float(page.inner_text("#digits")) == pytest.approx(6.971 / 25.4, abs=1e-4)
        expect(page, "#results", "0.2744")
        with urllib.request.urlopen(f"{address}api/v1/jobs/{job}/record", timeout=60) as answer:
            (kept,) = json.loads(answer.read())["measurements"]
        assert (kept["unit"], float(kept["value"])) == ("mm", pytest.approx(6.971, abs=0.001))
        page.click("[data-length-switch]")
        expect(page, "#limit", "at least 6.95 mm")


def test_no_figure_in_inches_is_kinder_than_its_millimetres(browser, service):
    _, address = service
    with page_at(browser, address) as page:
        page.click("[data-length-switch]")
        page.wait_for_function("() => localStorage.getItem('benchtally.length') === 'in'")
        page.wait_for_selector("[data-length-switch]:has-text('mm')")
        shown = page.evaluate(SHOWN)
    assert shown["unit"] == "in"
    assert shown["value"] == "0.2744"
    assert float(shown["uncertainty"]) * 25.4 >= 0.0021
    assert float(shown["limits"]["lower"]) * 25.4 >= 6.95
    assert float(shown["limits"]["upper"]) * 25.4 <= 6.98
