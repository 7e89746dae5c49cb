"""What is wrong is loud where it stops the work, and only there."""

from tests.browser.pages import MICROMETER, PLAN, expect, page_at, post
from tests.browser.test_typed import ONE

# The tallest text on the page but for the number, and whether the number looks dead.
LOOKS = """
() => {
  const tall = (node) => parseFloat(getComputedStyle(node).fontSize);
  const texts = [...document.querySelectorAll("body *")].filter((each) =>
    each.checkVisibility() && !each.closest("#number") &&
    [...each.childNodes].some((node) => node.nodeType === 3 && node.data.trim()));
  const most = Math.max(...texts.map(tall));
  const line = getComputedStyle(document.querySelector("#digits")).textDecorationLine;
  const loudest = texts.filter((each) => tall(each) === most).map((each) => each.textContent);
  return { loudest, line };
}
"""


def looks(page, *, struck, loudest=None):
    """Wait until the number is struck out or not, and that is the tallest text."""
    line = "line-through" if struck else "none"
    page.wait_for_function(
        f"""([line, loudest]) => {{
            const now = ({LOOKS.strip()})();
            return now.line === line && (!loudest || now.loudest.join() === loudest.join());
        }}""",
        arg=[line, loudest],
    )


def opened(address):
    post(address, "/plans", PLAN)
    return post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})["id"]


def quiet(page):
    page.wait_for_function("() => document.querySelector('#troubles').textContent === ''")


def test_a_gauge_that_nobody_needs_is_quiet(browser, service, gauge):
    _, address = service
    with page_at(browser, address) as page:
        expect(page, "#gauges", "11.500")
        gauge.port.unplug()
        expect(page, "#gauges", "gone")
        expect(page, "#gauges", "Plug the gauge in")
        quiet(page)
        opened(address)  # and now it is needed
        expect(page, "#troubles", "Plug the gauge in")


def test_the_one_that_is_needed_is_the_loudest_thing_on_the_page(browser, service, gauge):
    _, address = service
    opened(address)
    with page_at(browser, address) as page:
        expect(page, "#digits", "11.500")
        quiet(page)
        looks(page, struck=False)
        gauge.port.unplug()
        expect(page, "#troubles", "Plug the gauge in")
        looks(page, struck=True, loudest=["micrometer: gone"])
        gauge.port.plug()
        quiet(page)
        expect(page, "#digits", "11.500")
        looks(page, struck=False)
        gauge.hush()
        expect(page, "#troubles .loud", "micrometer: silent")
        expect(page, "#gauges", "silent")
        gauge.hush(yes=False)
        quiet(page)


def test_one_that_speaks_on_its_button_or_stands_by_is_not(browser, serve, speaker):
    other = speaker("other", at_mm=3.0)
    spare = MICROMETER.format(port=other.port.path).replace("micrometer", "spare", 1)
    address = serve(ONE + spare + 'measures = ["guide.diameter"]\n').address
    opened(address)
    with page_at(browser, address) as page:
        expect(page, "#gauges", "waiting for its button")
        expect(page, "#gauges", "3.000")
        other.port.unplug()
        expect(page, "#gauges", "gone")
        quiet(page)
        looks(page, struck=False)


def test_where_any_of_two_may_do_one_that_speaks_is_enough(browser, serve, speaker):
    one, two = speaker("one"), speaker("two", at_mm=3.0)
    address = serve(
        MICROMETER.format(port=one.port.path)
        + MICROMETER.format(port=two.port.path).replace("micrometer", "spare", 1)
    ).address
    opened(address)
    with page_at(browser, address) as page:
        expect(page, "#gauges", "11.500")
        expect(page, "#gauges", "3.000")
        one.port.unplug()
        expect(page, "#gauges", "gone")
        quiet(page)
        two.port.unplug()
        expect(page, "#troubles", "spare")
