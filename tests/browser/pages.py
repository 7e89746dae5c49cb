"""What the tests of the page share: a gauge that speaks, a page that is watched."""

import contextlib
import json
import re
import shutil
import threading
import urllib.request

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
MICROMETER = """
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


class Speaker:
    """A gauge that says one number, twenty times a second, until told another."""

    def __init__(self, port, at_mm):
        self.port = port
        self._shown = self._target = at_mm
        self._quiet = threading.Event()
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._speak)
        self._thread.start()

    def show(self, value_mm):
        self._target = value_mm

    def hush(self, *, yes=True):
        """Say nothing, as one whose battery is flat."""
        (self._quiet.set if yes else self._quiet.clear)()

    def stop(self):
        self._stop.set()
        self._thread.join()

    def _speak(self):
        while not self._stop.wait(0.05):
            # A spindle turns, it does not jump.
            step = max(-1.0, min(1.0, self._target - self._shown))
            self._shown += step
            if self._quiet.is_set():
                continue
            self.port.write(b"%+08.3f\r\n" % self._shown)


# What the browser says of a service that is gone, or went while it was asked.
_LOST = re.compile(r"net::ERR_(CONNECTION_\w+|EMPTY_RESPONSE|INCOMPLETE_CHUNKED_ENCODING)")


@contextlib.contextmanager
def page_at(
    browser,
    address,
    size="bench",
    *,
    path="",
    may_lose=False,
    refused=0,
    locale="en-US",
    light="light",
    bypass_csp=False,
    script="",
):
    """A page, and what it must not do: say anything on the console, ask anybody else.

    path: which page; without one, that at the bench, which listens to it. may_lose: the browser
    may say that it lost the connection. refused: so many requests are refused in the test, which
    the browser says, too. light: what the browser prefers. bypass_csp: for a script of the test's
    own that puts styles into the page. script: run before
    anything of the page.
    """
    width, height = SIZES[size]
    page = browser.new_page(
        viewport={"width": width, "height": height},
        locale=locale,
        color_scheme=light,
        bypass_csp=bypass_csp,
    )
    page.set_default_timeout(120_000)
    page.add_init_script(script)
    wrong, asked = [], []
    page.on("console", lambda message: wrong.append(message.text))
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("request", lambda request: asked.append(request.url))
    page.on("websocket", lambda opened: asked.append(opened.url.replace("ws:", "http:")))
    listens = contextlib.nullcontext() if path else page.expect_websocket()
    with listens:
        page.goto(f"{address}{path}")
    yield page
    page.close()
    lost = [text for text in wrong if may_lose and _LOST.search(text)]
    no = [text for text in wrong if "the server responded with a status of 4" in text]
    assert (wrong, len(no)) == ([*lost, *no], refused), wrong
    assert [url for url in asked if not url.startswith(address)] == []
    assert path or any(url.endswith("/api/v1/live") for url in asked)


def post(address, path, body):
    request = urllib.request.Request(
        f"{address}api/v1{path}", json.dumps(body).encode(), {"content-type": "application/json"}
    )
    with urllib.request.urlopen(request, timeout=60) as answer:
        return json.loads(answer.read())


def expect(page, selector, text):
    """Wait until the element shows that text."""
    page.wait_for_function(
        "([selector, text]) => document.querySelector(selector)?.textContent.includes(text)",
        arg=[selector, text],
    )


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
