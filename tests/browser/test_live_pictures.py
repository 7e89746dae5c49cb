"""What the page draws of a part while it is measured. All data invented."""

import math
import threading

import pytest

from daq.head.characteristic import CATALOGUE
from drivers.pretend.port import PretendPort
from tests.browser.pages import expect, page_at, post

BEND_MM = 0.012
TURNS_A_READING = 0.008
PICTURE = "document.querySelector('#trace').toDataURL()"
# Still for a second of frames, while the bench goes on speaking.
STILL = """
() => new Promise((done) => {
  const canvas = document.querySelector("#trace");
  let [before, same] = ["", 0];
  const look = () => {
    const now = canvas.toDataURL();
    same = now === before ? same + 1 : 0;
    before = now;
    if (same >= 20) done(now);
    else setTimeout(look, 50);
  };
  look();
})
"""


class Turner:
    """A bent stem under a gauge that speaks fifty times a second; turned as far as is asked."""

    def __init__(self, port):
        self.port = port
        self._turns = self._asked = 0.0
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._speak)
        self._thread.start()

    def turn(self, by_turns):
        self._asked += by_turns

    def stop(self):
        self._stop.set()
        self._thread.join()

    def _speak(self):
        while not self._stop.wait(0.02):
            self._turns = min(self._asked, self._turns + TURNS_A_READING)
            angle = 2 * math.pi * self._turns
            bent = BEND_MM / 2 * math.cos(angle) + 0.002 * math.cos(2 * angle + 1)
            self.port.write(b"%+08.3f\r\n" % (0.3 + bent))


@pytest.fixture
def gauge(tmp_path):
    port = PretendPort(tmp_path / "micrometer")
    turner = Turner(port)
    yield turner
    turner.stop()
    port.unplug()


@pytest.mark.timeout(400)
def test_a_turn_is_a_circle_only_once_its_angle_is_known(browser, service, gauge):
    _, address = service
    post(address, "/jobs", {"number": "J-1", "plan": "four-by-two"})
    with page_at(browser, address) as page:
        expect(page, "#what", "stem runout")
        expect(page, "#trace_says", "No angle is known yet")
        assert page.get_attribute("#trace", "data-picture") == "strip"
        gauge.turn(0.8)
        expect(page, "#trace_says", "Highs and lows")
        # A paused hand leaves the picture still; no circle is drawn of part of a turn.
        paused = page.evaluate(STILL)
        assert page.get_attribute("#trace", "data-picture") == "strip"
        gauge.turn(20.0)
        expect(page, "#trace_says", "came again")
        assert page.get_attribute("#trace", "data-picture") == "polar"
        assert page.evaluate(PICTURE) != paused
        expect(page, "#message", "Take it out.")
        expect(page, "#done .PASS", "proven in")
        # It goes on turning, but what was measured stands.
        page.evaluate(STILL)
        assert page.get_attribute("#trace", "data-picture") == "polar"
        label = page.get_attribute("#on_part svg", "aria-label")
        assert label == "The limit on the part: 1I stem runout"


SCALES = """
async () => {
  const scales = await import("/part/scale.js");
  const values = Array.from({ length: 401 }, (_, at) => (at - 200) / 50);
  const cases = [[-1, 1], [0.5, 1.5], [null, 0.7], [0.9, null], [-0.4, null]];
  return Object.entries(scales).flatMap(([name, scale]) => cases.map(([lower, upper]) => {
    const to = scale({ lower, upper }, 30);
    const at = [lower, upper].map((each) => (each === null ? null : to(each)));
    return { name, lower, upper, values, drawn: values.map(to), at };
  }));
}
"""


def test_what_is_drawn_never_stands_on_the_wrong_side_of_its_limit(browser, service):
    _, address = service
    with page_at(browser, address) as page:
        cases = page.evaluate(SCALES)
    assert len(cases) == 10
    for each in cases:
        drawn = each["drawn"]
        assert drawn == sorted(drawn), each["name"]
        assert max(map(abs, drawn)) <= 30 * 1.7
        for limit, line in zip((each["lower"], each["upper"]), each["at"], strict=True):
            if limit is not None:
                for value, at in zip(each["values"], drawn, strict=True):
                    assert (value > limit) == (at > line)


ON_PART = """
async () => {
  const { drawnOn, onPart } = await import("/part/on_part.js");
  const limits = { lower: null, upper: 2 };
  const draw = (name, value, held = limits) =>
    onPart(name, { value, limits: held, partner: null, out: value > 2.2, label: name });
  return drawnOn().map((name) => ({
    name,
    none: draw(name, null).querySelectorAll(".pt-limit").length,
    key: draw(name, null).querySelector(".pt-word").textContent,
    pictures: [null, 1, 2.5].map((value) => draw(name, value).innerHTML),
    beyond: [null, 1, 2, 2.5].map((value) => draw(name, value).matches(".beyond")),
    unlimited: draw(name, 1, { lower: null, upper: null }),
  }));
}
"""


def test_every_measured_characteristic_shows_its_limit_on_the_part(browser, service):
    _, address = service
    with page_at(browser, address) as page:
        drawn = page.evaluate(ON_PART)
    measured = {each.name for each in CATALOGUE.values() if each.capture not in {"look", None}}
    assert {each["name"] for each in drawn} == measured
    for each in drawn:
        assert each["none"] >= 1, each["name"]
        assert each["key"] == "Limit"
        assert len(set(each["pictures"])) == 3, each["name"]
        assert each["beyond"] == [False, False, False, True]
        assert each["unlimited"] is None


def test_a_bore_is_shown_with_the_stem_that_goes_into_it(browser, service):
    _, address = service
    job = post(address, "/jobs", {"number": "J-1", "plan": "four-by-two"})["id"]
    up = {"characteristic": "guide.diameter", "position": "1I"}
    with page_at(browser, address) as page:
        post(address, f"/jobs/{job}/up", {**up, "place": {"depth_mm": "6", "direction": "along"}})
        expect(page, "#what", "guide bore")
        expect(page, "#limit", "No limit of its own")
        assert page.query_selector("#on_part svg") is None
        for depth, value in (("12", "6.971"), ("30", "6.968")):
            stem = {"characteristic": "valve.stem_diameter", "position": "1I", "value": value}
            place = {"depth_mm": depth, "direction": "along"}
            sent = {**stem, "unit": "mm", "came": "keyed", "place": place}
            post(address, f"/jobs/{job}/measurements", sent)
        # Of an intake: at least 0.020 mm over the thickest, at most 0.10 mm over the thinnest.
        expect(page, "#limit", "Fits its pair: 6.9910 to 7.0680 mm")
        expect(page, "#limit", "stem diameter 6.9680 to 6.9710 mm")
        page.wait_for_selector("#on_part svg")
        circles = page.eval_on_selector_all(
            "#on_part circle",
            "all => all.map(each => [each.getAttribute('class'), each.r.baseVal.value])",
        )
    stem = next(r for name, r in circles if name == "sk-part")
    lower, upper = sorted(r for name, r in circles if name == "pt-limit")
    assert stem < lower < upper


# A turn whose whole swing is smaller than what a gauge trembles by itself: every reading rests.
SMALL_TURN = """
async () => {
  const { drawPolar } = await import("/picture/polar.js");
  const lines = [];
  const pen = {
    width: 300, height: 200, ring() {}, disc() {}, text() {},
    line: (points, colour) => lines.push([colour, points.length]),
  };
  const reading = (_, at) => ({ t: at / 50, value: 0.3, rests: true });
  const readings = Array.from({ length: 180 }, reading);
  const landmarks = [0, 0.5, 1, 1.5].map((turns, at) => [at, 0.3 + 0.001 * (at % 2), turns, true]);
  const shown = (value, digits) => value.toFixed(digits);
  drawPolar(pen, readings, { landmarks, unit: "mm", shown });
  return lines.filter(([colour]) => colour === "blue").map(([, points]) => points);
}
"""


def test_a_turn_that_hardly_moves_is_drawn_all_the_same(browser, service):
    _, address = service
    with page_at(browser, address) as page:
        assert page.evaluate(SMALL_TURN) == [151]
