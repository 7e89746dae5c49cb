"""Every page by axe-core, by day and under a lamp, and by the keyboard alone."""

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.browser.pages import CONTRAST, PLAN, expect, page_at, post

# What has to stand on each page before it is looked at.
PAGES = {
    "": ("#position", "1I"),
    "enter.html": ("h1", "token"),
    "head.html?job={job}&position=1I": ("#one", "6.941"),
    "job.html?job={job}": ("#parts", "1I valve"),
    "jobs.html": ("#found", "J-1"),
    "start.html?plan=stems-only": ("#chosen", "6.95"),
    "plan.html?plan=four-by-two-whole": ("#steps", "head clean"),
    "bring.html?job={job}": ("#about", "Job number"),
    "gauges.html": ("#here", "speaking"),
}
BAD = {"serious", "critical"}
REACHED = """
() => {
  const all = [...document.querySelectorAll("a[href], button, input, select, textarea, summary")];
  const can = (each) => each.checkVisibility() && !each.disabled && !each.closest("[inert]");
  return all.filter(can).length;
}
"""
AT = """
() => {
  window.seen ??= new Set();
  const at = document.activeElement;
  if (at.matches("a[href], button, input, select, textarea, summary")) window.seen.add(at);
  return window.seen.size;
}
"""


@pytest.fixture
def job(service):
    _, address = service
    post(address, "/plans", PLAN)
    job = post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})["id"]
    value = {
        "characteristic": "valve.stem_diameter", "position": "1I", "value": "6.941", "unit": "mm",
        "place": {"depth_mm": "12", "direction": "across"}, "came": "keyed",
        "gauge": "outside micrometer",
    }  # fmt: skip
    post(address, f"/jobs/{job}/measurements", value)
    post(address, f"/jobs/{job}/rework", {"position": "1I", "part": "valve", "what": "replaced"})
    return job


@pytest.mark.parametrize("light", ["light", "dark"])
def test_axe_finds_nothing_serious(browser, service, job, light):
    _, address = service
    axe, wrong = Axe(), []
    for path, (selector, text) in PAGES.items():
        at = path.format(job=job)
        with page_at(browser, address, path=at, light=light, bypass_csp=True) as page:
            expect(page, selector, text)
            found = axe.run(page, options={"preload": False}).response["violations"]
            wrong += [
                (path, each["id"], each["nodes"][0]["html"])
                for each in found
                if each["impact"] in BAD
            ]
            wrong += [(path, "contrast", each) for each in page.evaluate(CONTRAST)]
    assert wrong == []


def test_everything_is_reached_by_the_tabulator(browser, service, job):
    _, address = service
    for path, (selector, text) in PAGES.items():
        with page_at(browser, address, path=path.format(job=job)) as page:
            expect(page, selector, text)
            wanted = page.evaluate(REACHED)
            for _ in range(3 * wanted):
                page.keyboard.press("Tab")
                if page.evaluate(AT) >= wanted:
                    break
            assert page.evaluate(AT) >= wanted, path
