"""The page in a real browser, on a real service with a gauge on a pseudo serial port."""

import contextlib
import json
import os
import re
import shutil
import subprocess
import sys
import threading
import urllib.request

import pytest

from drivers.pretend.port import PretendPort

CHROMIUM = shutil.which("chromium")
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-default-apps",
    "--disable-sync",
    "--no-first-run",
]
SIZES = {"bench": (1280, 800), "phone": (390, 844)}
CONFIG = """\
[bench]
name = "Bench 1"
data = "bench-data"
listen = "127.0.0.1:0"

[[gauge]]
name = "micrometer"
serial = "G-1042"
port = "{port}"
profile = "plain-line"
resolution_mm = 0.001
error_limit_mm = 0.001
"""
PLAN = {
    "name": "stems-only",
    "title": "Invented single, stems only",
    "source": "invented for a test",
    "head": {"cylinders": 1},
    "steps": [
        {
            "characteristic": "valve.stem_diameter",
            "depths_mm": ["12"],
            "directions": ["along", "across"],
            "nominal_mm": "6.97",
            "window_mm": "0.5",
            "limit": {"lower": "6.95", "kind": "guide", "source": "invented"},
        }
    ],
}

pytestmark = pytest.mark.skipif(
    CHROMIUM is None, reason="chromium is not installed: apt-get install chromium"
)


class Speaker:
    """A gauge that says one number, twenty times a second, until told another."""

    def __init__(self, port):
        self.port = port
        self._shown = 11.5
        self._target = 11.5
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._speak)
        self._thread.start()

    def show(self, value_mm):
        self._target = value_mm

    def stop(self):
        self._stop.set()
        self._thread.join()

    def _speak(self):
        while not self._stop.wait(0.05):
            # A spindle turns, it does not jump.
            step = max(-1.0, min(1.0, self._target - self._shown))
            self._shown += step
            self.port.write(b"%+08.3f\r\n" % self._shown)


@pytest.fixture
def gauge(tmp_path):
    port = PretendPort(tmp_path / "micrometer")
    speaker = Speaker(port)
    yield speaker
    speaker.stop()
    port.unplug()


@pytest.fixture
def service(tmp_path, gauge):
    """A running service; gives its process and address."""
    file = tmp_path / "bench.toml"
    file.write_text(CONFIG.format(port=tmp_path / "micrometer"))
    process = subprocess.Popen(
        [sys.executable, "-m", "api.cli", "serve", "--config", str(file)],
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        found = re.search(r"http://\S+", process.stderr.readline())
        yield process, found.group(0)
    finally:
        process.kill()
        process.wait()
        process.stderr.close()


@pytest.fixture(scope="module")
def browser():
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


@contextlib.contextmanager
def page_at(browser, address, size="bench", *, may_lose=False):
    """A page, and what it must not do: say anything on the console, ask anybody else.

    may_lose: the browser may say that it lost the connection.
    """
    width, height = SIZES[size]
    page = browser.new_page(viewport={"width": width, "height": height})
    page.set_default_timeout(10_000)
    wrong, asked = [], []
    page.on("console", lambda message: wrong.append(message.text))
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("request", lambda request: asked.append(request.url))
    page.on("websocket", lambda opened: asked.append(opened.url.replace("ws:", "http:")))
    page.goto(address)
    yield page
    page.close()
    lost = [text for text in wrong if may_lose and "ERR_CONNECTION_REFUSED" in text]
    assert wrong == lost
    assert [url for url in asked if not url.startswith(address)] == []
    assert any(url.endswith("/api/v1/live") for url in asked)


def post(address, path, body):
    request = urllib.request.Request(
        f"{address}api/v1{path}", json.dumps(body).encode(), {"content-type": "application/json"}
    )
    with urllib.request.urlopen(request, timeout=5) as answer:
        return json.loads(answer.read())


def expect(page, selector, text):
    """Wait until the element shows that text."""
    page.wait_for_function(
        "([selector, text]) => document.querySelector(selector)?.textContent.includes(text)",
        arg=[selector, text],
    )


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
        page.select_option("#asking select[name=plan]", "stems-only")
        page.click("#asking_send")  # the browser itself asks for the number
        assert page.is_visible("#asking")
        page.fill("#asking input[name=number]", "J-1")
        page.keyboard.press("Enter")
        expect(page, "#job", "J-1")
        expect(page, "#position", "1I")
        expect(page, "#what", "stem diameter")
        expect(page, "#place", "12 mm deep, along")
        gauge.show(6.971)
        expect(page, "#digits", "6.971")
        expect(page, "#message", "Take it out.")
        expect(page, "#digits", "6.97")
        expect(page, "#live_label", "proven in")
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


def test_trouble_with_a_gauge_is_said_loudly_and_goes_away(browser, service, gauge):
    _, address = service
    with page_at(browser, address) as page:
        expect(page, "#gauges", "11.500")
        assert page.inner_text("#troubles") == ""
        gauge.port.unplug()
        expect(page, "#troubles", "Plug the gauge in")
        expect(page, "#gauges", "gone")
        gauge.port.plug()
        page.wait_for_function("() => document.querySelector('#troubles').textContent === ''")


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


CONTRAST = """
() => {
  const lum = ([r, g, b]) => {
    const part = (v) => (v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
    return 0.2126 * part(r) + 0.7152 * part(g) + 0.0722 * part(b);
  };
  const rgb = (text) => (text.match(/[\\d.]+/g) ?? []).map(Number);
  const behind = (node) => {
    for (let at = node; at; at = at.parentElement) {
      const found = rgb(getComputedStyle(at).backgroundColor);
      if (found.length === 3 || found[3] === 1) return found;
    }
    return [255, 255, 255];
  };
  const low = [];
  for (const node of document.querySelectorAll("body *")) {
    const own = [...node.childNodes].some((each) => each.nodeType === 3 && each.data.trim());
    if (!own || !node.checkVisibility()) continue;
    const [a, b] = [lum(rgb(getComputedStyle(node).color)), lum(behind(node))];
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (ratio < 4.5) low.push(`${node.id || node.className || node.tagName}: ${ratio.toFixed(2)}`);
  }
  return low;
}
"""


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


def test_every_word_stands_in_the_catalogue():
    """No text in the markup or the scripts that a person would read."""
    from importlib.resources import files

    folder = files("api") / "page"
    words = json.loads((folder / "words.json").read_text("utf-8"))
    markup = (folder / "index.html").read_text("utf-8")
    shown = re.sub(r"<title>.*?</title>|<[^>]+>", "", markup).strip()
    assert shown == ""
    keys = set(re.findall(r'data-w="(\w+)"', markup))
    for script in folder.iterdir():
        if script.name.endswith(".js"):
            keys |= set(re.findall(r'say\("(\w+)"', script.read_text("utf-8")))
    assert keys <= set(words), keys - set(words)


def test_a_label_leads_to_its_job_and_the_record_is_handed_on(browser, service, gauge):
    _, address = service
    post(address, "/plans", PLAN)
    job = post(address, "/jobs", {"number": "J-7", "plan": "stems-only"})["id"]
    page = browser.new_page()
    page.set_default_timeout(10_000)
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
    expect(page, "#jobs", "J-7")
    page.goto(f"{address}job.html?job=none")
    expect(page, "#fault", "no job")
    page.close()
    # The last page asked for a job that is not there, which the browser says, too.
    assert [text for text in wrong if "404" not in text] == []
    with page_at(browser, address) as bench:
        bench.click("#hand_on")
        expect(bench, "#job", "J-7: Invented single")
