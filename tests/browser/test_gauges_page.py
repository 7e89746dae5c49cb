"""The gauges: what each says, a zero on a ring, and a new one that is set up by listening."""

import itertools
import os
import tomllib
import urllib.error

from tests.browser.pages import CONTRAST, MICROMETER, SIZES, expect, page_at, post

RING = """
[[ring]]
name = "ring 7"
size_mm = 7.0012
certificate = "R-221"
"""


def test_every_gauge_says_what_it_shows_and_how_it_is(browser, serve, gauge):
    address = serve(MICROMETER.format(port=gauge.port.path) + RING).address
    with page_at(browser, address, path="gauges.html") as page:
        expect(page, "#here", "micrometer speaking")
        expect(page, "#here", "11.500 mm")
        expect(page, "#here", "G-1042")
        expect(page, "#zero", "No job on the bench")
        gauge.show(11.25)
        expect(page, "#here", "11.250 mm")
        assert page.evaluate(CONTRAST) == []
        gauge.port.unplug()
        expect(page, "#here", "Plug the gauge in")
        gauge.port.plug()
        expect(page, "#here", "micrometer speaking")


def zero_once_it_is_still(address, job, gauge="micrometer"):
    """The bench says when a gauge is not still yet; the test's own time limit ends it else."""
    said = "is not still"
    while "is not still" in said:
        said = ""
        try:
            post(address, f"/jobs/{job}/zero", {"gauge": gauge, "ring": "ring 7"})
        except urllib.error.HTTPError as error:
            said = error.read().decode()
            error.close()
    assert said == ""


def test_a_zero_is_taken_and_its_drift_is_said(browser, serve, speaker):
    gauge = speaker(at_mm=0.002)
    address = serve(MICROMETER.format(port=gauge.port.path) + RING).address
    job = post(address, "/jobs", {"number": "J-1", "plan": "four-by-two"})["id"]
    zero_once_it_is_still(address, job)
    with page_at(browser, address, "phone", path="gauges.html") as page:
        expect(page, "#zeros", "the first one")
        page.click("#zero button")
        expect(page, "#zeros", "0.0000 mm")
        assert page.evaluate("document.documentElement.scrollWidth") <= SIZES["phone"][0]
        moved = {"gauge": "micrometer", "ring": "ring 7", "shown_mm": "0.009"}
        post(address, f"/jobs/{job}/zero", moved)
        page.reload()
        expect(page, "#zeros", "0.0070 mm: more than it may")


def test_a_new_gauge_is_set_up_by_listening(browser, service, gauge, speaker):
    _, address = service
    new = speaker("new", at_mm=3.125)
    device = os.path.realpath(new.port.path)
    with page_at(browser, address, path="gauges.html") as page:
        port = page.locator("#ports [name=port]")
        if port.evaluate("each => each.tagName") == "SELECT":  # this computer has ports of its own
            port.evaluate("(each, to) => each.append(new Option(to, to))", device)
            port.select_option(device)
        else:
            port.fill(device)
        page.click("#ports button")
        expect(page, "#asked", "Move the spindle to and fro")
        page.click("#asked .main")
        # To and fro until told to stop.
        for target in itertools.cycle([9.5, 3.125]):
            new.show(target)
            page.wait_for_timeout(400)
            if "What is this gauge called" in page.inner_text("#asked"):
                break
        page.fill("#asked input", "bore gauge")
        page.keyboard.press("Enter")
        expect(page, "#asked", "Its serial number")
        page.fill("#asked input", "G-7")
        page.keyboard.press("Enter")
        expect(page, "#talk", "Put the section above into bench.toml")
        section = page.locator("#talk pre").last.inner_text()
        found = tomllib.loads(section)["gauge"][0]
        assert (found["name"], found["serial"], found["port"]) == ("bore gauge", "G-7", device)
        assert found["profile"] == "plain-line"
        assert page.evaluate(CONTRAST) == []
