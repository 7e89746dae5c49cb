"""What is heard: kept, not kept, look here, and the number where that is wished."""

import pytest

from tests.browser.pages import PLAN, expect, page_at, post
from tests.browser.test_typed import ONE

# Listens to what the page lets the browser play and say.
LISTEN = """
window.heard = [];
const start = OscillatorNode.prototype.start;
OscillatorNode.prototype.start = function (when) {
  window.heard.push(Math.round(this.frequency.value));
  return start.call(this, when);
};
window.said = [];
speechSynthesis.speak = (words) => window.said.push(`${words.lang}: ${words.text}`);
"""
KEPT, NOT_KEPT, LOOK_HERE = [660, 990], [220, 165], [880, 880, 880]


def heard(page, tune):
    """Wait for that tune; a gauge that was silent for a moment may have been told before it."""
    page.wait_for_function(
        "(tune) => window.heard.join().includes(tune.join())",
        arg=tune,
    )
    page.evaluate("window.heard = []")


@pytest.fixture
def address(service):
    _, address = service
    post(address, "/plans", PLAN)
    post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})
    return address


def test_three_sounds_and_a_switch_that_is_remembered(browser, address, gauge):
    with page_at(browser, address, script=LISTEN) as page:
        expect(page, "#place", "along")
        page.click("#device")  # a page may sound once it was touched
        page.click("#asking_cancel")
        gauge.show(6.961)
        expect(page, "#left", "3 left")
        heard(page, KEPT)
        gauge.port.unplug()
        heard(page, LOOK_HERE)
        gauge.port.plug()
        expect(page, "#gauges", "6.961")
        page.click("#device")
        page.click("[data-option=sounds]")
        expect(page, "[data-option=sounds]", "off")
        page.reload()
        expect(page, "#place", "along")
        page.click("#device")
        expect(page, "[data-option=sounds]", "off")
        page.click("#asking_cancel")
        gauge.show(11.5)
        expect(page, "#place", "across")
        gauge.show(6.962)
        expect(page, "#left", "2 left")
        assert page.evaluate("window.heard") == []
        assert page.evaluate("window.said") == []


def test_the_number_is_spoken_where_that_is_wished(browser, address, gauge):
    with page_at(browser, address, script=LISTEN) as page:
        expect(page, "#place", "along")
        page.click("#device")
        page.click("[data-option=spoken]")
        expect(page, "[data-option=spoken]", "on")
        page.click("#asking_cancel")
        gauge.show(6.961)
        page.wait_for_function("() => window.said.length === 2")
        assert page.evaluate("window.said[1]").startswith("en: 6.961")
        assert page.evaluate("window.said[1]").endswith("mm, proven in")


def test_what_is_not_kept_sounds_so(browser, serve, typist):
    address = serve(ONE).address
    with page_at(browser, address, script=LISTEN) as page:
        expect(page, "#gauges", "waiting")
        page.click("#device")
        page.click("#asking_cancel")
        gauge = typist(address)
        gauge.type("6.961")
        heard(page, NOT_KEPT)
        post(address, "/plans", PLAN)
        post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})
        expect(page, "#place", "along")
        gauge.type("25.4")
        heard(page, NOT_KEPT)
        gauge.type("6.961")
        heard(page, KEPT)
