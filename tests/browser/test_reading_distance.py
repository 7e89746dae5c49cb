"""Read from two metres: digits a sixth of the window high, nothing of the bench to scroll to."""

import pytest

from tests.browser.pages import PLAN, expect, page_at, post

SIZES = [(1280, 800), (1440, 900), (1920, 1080), (3840, 2160)]
# The inked height of a digit, drawn out as it stands on the page.
DIGIT = """
() => {
  const digits = document.querySelector("#digits");
  const style = getComputedStyle(digits);
  const pen = document.createElement("canvas").getContext("2d");
  pen.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
  const ink = pen.measureText("0");
  return ink.actualBoundingBoxAscent * new DOMMatrix(style.transform).d;
}
"""
FITS = """
() => {
  const bottom = (each) => document.querySelector(each).getBoundingClientRect().bottom;
  const middle = document.querySelector("#measure");
  const edge = middle.getBoundingClientRect().right;
  return {
    page: document.documentElement.scrollHeight <= innerHeight,
    bench: middle.scrollHeight <= middle.clientHeight + 1,
    across: document.querySelector("#up").scrollWidth <= document.querySelector("#up").clientWidth,
    caution: bottom("#cautions") <= innerHeight,
    buttons: bottom("#more") <= innerHeight,
    number: document.querySelector("#beside").getBoundingClientRect().right <= edge,
    picture: document.querySelector("#trace").getBoundingClientRect().height >= innerHeight / 8,
  };
}
"""


@pytest.mark.parametrize("locale", ["en-US", "de-DE"])
@pytest.mark.parametrize("plan", ["stems-only", "four-by-two"])
def test_the_bench_is_read_without_scrolling(browser, service, gauge, plan, locale):
    _, address = service
    post(address, "/plans", PLAN)
    post(address, "/jobs", {"number": "J-1", "plan": plan})
    with page_at(browser, address, locale=locale) as page:
        expect(page, "#gauges", "11.500")
        expect(page, "#limit", " mm")
        for width, height in SIZES:
            page.set_viewport_size({"width": width, "height": height})
            fits = page.evaluate(FITS)
            assert all(fits.values()), (width, height, fits)
            if plan == "stems-only":  # a turn that has not begun shows no number
                expect(page, "#digits", "11.500")
                assert page.evaluate(DIGIT) >= height / 6


IN_SIGHT = """
(each) => document.querySelector(each).getBoundingClientRect().bottom
  <= document.querySelector("#up").getBoundingClientRect().bottom
"""


def test_the_longest_cautions_leave_room_for_the_sketch(browser, service, gauge):
    """And stay in sight themselves beside the loudest trouble."""
    _, address = service
    job = post(address, "/jobs", {"number": "J-1", "plan": "four-by-two-whole"})["id"]
    with page_at(browser, address) as page:
        for characteristic in ("valve.face_runout", "seat.runout", "seat.leak"):
            post(address, f"/jobs/{job}/up", {"characteristic": characteristic, "position": "1E"})
            page.wait_for_function("() => document.querySelectorAll('#cautions p').length === 3")
            assert page.evaluate(IN_SIGHT, "#sketch"), characteristic
        gauge.port.unplug()
        for characteristic in ("valve.face_runout", "seat.runout"):
            post(address, f"/jobs/{job}/up", {"characteristic": characteristic, "position": "1E"})
            expect(page, "#troubles", "gone")
            page.wait_for_function("() => document.querySelectorAll('#cautions p').length === 3")
            assert page.evaluate(IN_SIGHT, "#cautions"), characteristic
