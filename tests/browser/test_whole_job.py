"""A job of two valves from its start to its end, with nothing but what the gauges say."""

import math
import threading

import pytest

from drivers.pretend.port import PretendPort
from tests.browser.pages import MICROMETER, PLAN, expect, page_at, post
from tests.browser.readings import measurements

INDICATOR = """
[[gauge]]
name = "runout indicator"
serial = "G-1037"
port = "{port}"
profile = "plain-line"
resolution_mm = 0.001
error_limit_mm = 0.001
measures = ["valve.stem_runout"]
"""
VALVES = {
    **PLAN,
    "name": "two-valves",
    "title": "Invented single, two valves",
    "steps": [
        {
            "characteristic": "valve.stem_runout",
            "limit": {"upper": "0.03", "kind": "guide", "source": "invented"},
        },
        {**PLAN["steps"][0], "directions": ["along"]},
    ],
}
# Counts what a screen reader is told: every change of a region that speaks by itself.
TOLD = """
() => {
  window.told = [];
  for (const place of document.querySelectorAll("[aria-live], [role=alert], [role=status]")) {
    const note = () => place.textContent.trim() && told.push([place.id, place.textContent]);
    const changes = { childList: true, characterData: true, subtree: true };
    new MutationObserver(note).observe(place, changes);
  }
}
"""


class Spun:
    """A bent stem under an indicator that speaks fifty times a second; turned, lifted, put in."""

    def __init__(self, port):
        self.port = port
        self.turns_per_s = 0.0
        self.is_in = False
        self.level_mm = 0.3
        self.turns = 0.0
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._speak)
        self._thread.start()

    def spin(self, level_mm):
        self.level_mm, self.is_in, self.turns_per_s = level_mm, True, 0.4

    def lift(self):
        self.is_in, self.turns_per_s = False, 0.0

    def stop(self):
        self._stop.set()
        self._thread.join()

    def _speak(self):
        while not self._stop.wait(0.02):
            self.turns += 0.02 * self.turns_per_s
            angle = 2 * math.pi * self.turns
            bent = 0.006 * math.cos(angle) + 0.002 * math.cos(2 * angle + 1)
            self.port.write(b"%+08.3f\r\n" % (self.level_mm + bent if self.is_in else -1.5))


@pytest.fixture
def valve(tmp_path):
    port = PretendPort(tmp_path / "indicator")
    spun = Spun(port)
    yield spun
    spun.stop()
    port.unplug()


def test_two_valves_with_no_click_after_the_start(browser, serve, speaker, valve):
    micrometer = speaker()
    address = serve(
        INDICATOR.format(port=valve.port.path)
        + MICROMETER.format(port=micrometer.port.path)
        + 'measures = ["valve.stem_diameter"]\n'
    ).address
    post(address, "/plans", VALVES)
    with page_at(browser, address) as page:
        expect(page, "#gauges", "11.500")
        page.evaluate(TOLD)
        job = post(address, "/jobs", {"number": "J-1", "plan": "two-valves"})["id"]
        expect(page, "#position", "1I")
        valve.spin(0.3)
        expect(page, "#left", "3 left")
        # Left turning, it gives nothing to the next position, however long.
        turned = valve.turns + 2
        while valve.turns < turned:
            page.wait_for_timeout(100)
        assert page.inner_text("#position") == "1I"
        assert len(measurements(address, job)) == 1
        valve.lift()
        expect(page, "#position", "1E")
        valve.spin(0.45)
        page.wait_for_function("() => /\\d turns? seen/.test(document.body.textContent)")
        valve.port.unplug()  # in the middle of the turn
        expect(page, "#troubles .loud", "runout indicator: gone")
        valve.port.plug()
        page.wait_for_function("() => document.querySelector('#troubles').textContent === ''")
        expect(page, "#left", "2 left")
        valve.lift()
        expect(page, "#what", "stem diameter")
        for left, mm in ((1, 6.961), (0, 6.962)):
            micrometer.show(mm)
            expect(page, "#left", f"{left} left" if left else "Everything is measured")
            micrometer.show(11.5)
            page.wait_for_function("() => !document.body.classList.contains('takeout')")
        told = page.evaluate("window.told")
    found = [(m["position"], m["characteristic"], m["status"]) for m in measurements(address, job)]
    assert found == [
        ("1I", "valve.stem_runout", "PASS"),
        ("1E", "valve.stem_runout", "PASS"),
        ("1I", "valve.stem_diameter", "PASS"),
        ("1E", "valve.stem_diameter", "PASS"),
    ]
    # Four values were told, what is wrong, and not one of the hundreds of readings.
    assert len([text for place, text in told if place == "announce"]) == 4, told
    assert {place for place, _ in told} == {"announce", "troubles"}
