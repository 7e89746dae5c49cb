"""The page at fifty readings a second: byte to digit, the server's processor, memory. By hand.

`.venv/bin/python -m pytest tests/long/test_page_figures.py -s -n 0` prints the figures that stand
in docs/figures-page.md. Needs Chromium, and a machine that does nothing else meanwhile.
"""

import json
import math
import os
import re
import statistics
import subprocess
import sys
import time
from pathlib import Path

import pytest

from drivers.pretend.port import PretendPort
from tests.browser.pages import CHROMIUM, FLAGS, PLAN, post

READINGS_HZ = 50.0
MEASURED_S = 60.0
HOUR_READINGS = 180_000
FAST_HZ = 1000.0
MEDIAN_MS, P99_MS = 50.0, 150.0
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
# The time after the frame in which the digits stand, on the clock of the host.
WATCH = """
() => {
  globalThis.seen = [];
  const digits = document.querySelector("#digits");
  new MutationObserver(() => {
    const text = digits.textContent;
    // The task after the frame's own: what was changed has been painted.
    const note = () => seen.push([text, performance.timeOrigin + performance.now()]);
    requestAnimationFrame(() => setTimeout(note));
  }).observe(digits, { childList: true, characterData: true, subtree: true });
  return performance.timeOrigin + performance.now() - Date.now();
}
"""
HEAP = "() => performance.memory.usedJSHeapSize"

pytestmark = [
    pytest.mark.skipif(CHROMIUM is None, reason="chromium is not installed"),
    pytest.mark.timeout(3600),
]


@pytest.fixture
def port(tmp_path):
    made = PretendPort(tmp_path / "micrometer")
    yield made
    made.unplug()


@pytest.fixture
def service(tmp_path, port):
    """A service in a process of its own; gives its number and its address."""
    file = tmp_path / "bench.toml"
    file.write_text(CONFIG.format(port=port.path))
    process = subprocess.Popen(
        [sys.executable, "-m", "api.cli", "serve", "--config", str(file)],
        stderr=subprocess.PIPE,
        text=True,
    )
    yield process.pid, re.search(r"http://\S+", process.stderr.readline()).group(0)
    process.kill()
    process.wait()
    process.stderr.close()


@pytest.fixture(scope="module")
def browser():
    from playwright.sync_api import sync_playwright

    flags = [*FLAGS, "--enable-precise-memory-info", "--js-flags=--expose-gc"]
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=flags)
        yield browser
        browser.close()


def opened(browser, address):
    page = browser.new_page(viewport={"width": 1280, "height": 800})
    page.goto(address)
    return page


def speak(port, count, hz, line, overslept_ms=None):
    """Write readings at that pace; gives when each was written, by its text.

    overslept_ms: takes by how much this thread was woken late, which is what the machine does to
    every thread just then.
    """
    written, start = {}, time.perf_counter()
    for n in range(count):
        text, data = line(n)
        time.sleep(max(0.0, start + n / hz - time.perf_counter()))
        if overslept_ms is not None:
            overslept_ms.append(1000.0 * (time.perf_counter() - start - n / hz))
        port.write(data)
        written[text] = 1000.0 * time.time()
    return written


def counting(n):
    text = f"{(1000 + n) / 1000:.3f}"
    return text, f"+{(1000 + n) / 1000:07.3f}\r\n".encode()


def spinning(n):
    angle = 2 * math.pi * n / (4 * READINGS_HZ)
    value = 0.3 + 0.01 * math.cos(angle) + 0.002 * math.cos(2 * angle + 1)
    return "", f"{value:+08.3f}\r\n".encode()


def processor_s(pid):
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def resident_mb(pid):
    return int(Path(f"/proc/{pid}/statm").read_text().split()[1]) * 4096 / 1e6


def say(**figures):
    print(json.dumps(figures))


def test_last_byte_to_digit(browser, service, port):
    _, address = service
    post(address, "/plans", PLAN)
    post(address, "/jobs", {"number": "J-1", "plan": "stems-only"})
    page = opened(browser, address)
    page.wait_for_selector("#on_part svg")
    skew_ms = page.evaluate(WATCH)
    overslept_ms = []
    written = speak(port, int(MEASURED_S * READINGS_HZ), READINGS_HZ, counting, overslept_ms)
    page.wait_for_function("() => seen.length && performance.now() > 0")
    late = [at - written[text] for text, at in page.evaluate("seen") if text in written]
    say(
        readings=len(written),
        shown=len(late),
        median_ms=round(statistics.median(late), 1),
        p99_ms=round(statistics.quantiles(late, n=100)[98], 1),
        most_ms=round(max(late), 1),
        clock_skew_ms=round(skew_ms, 2),
        overslept_p99_ms=round(statistics.quantiles(overslept_ms, n=100)[98], 1),
        load=os.getloadavg()[0],
    )
    assert len(late) > 0.4 * len(written)
    assert statistics.median(late) <= MEDIAN_MS
    assert statistics.quantiles(late, n=100)[98] <= P99_MS
    page.close()


def test_what_a_page_costs_the_server(browser, service, port):
    pid, address = service
    post(address, "/jobs", {"number": "J-1", "plan": "four-by-two-whole"})
    shares = {}
    pages = []
    for count in (0, 1, 2, 4):
        while len(pages) < count:
            pages.append(opened(browser, address))
            pages[-1].wait_for_selector("#sketch svg")
        before, start = processor_s(pid), time.perf_counter()
        speak(port, int(20 * READINGS_HZ), READINGS_HZ, spinning)
        shares[count] = (processor_s(pid) - before) / (time.perf_counter() - start)
    for page in pages:
        page.close()
    say(**{f"pages_{count}": round(share, 3) for count, share in shares.items()})
    assert shares[4] < 1.0


def test_an_hour_of_spinning_grows_nothing(browser, service, port):
    """Everything kept at once and never taken out: the part turns on after it was measured."""
    pid, address = service
    post(address, "/jobs", {"number": "J-1", "plan": "four-by-two"})
    page = opened(browser, address)
    page.wait_for_selector("#sketch svg")
    kept = []
    for _ in range(12):
        speak(port, HOUR_READINGS // 12, FAST_HZ, spinning)
        page.evaluate("() => gc()")
        kept.append((page.evaluate(HEAP) / 1e6, resident_mb(pid)))
    heap, resident = zip(*kept, strict=True)
    say(
        readings=HOUR_READINGS,
        heap_mb=[round(each, 2) for each in heap],
        resident_mb=[round(each, 1) for each in resident],
    )
    assert heap[-1] < heap[3] * 1.1 + 0.5
    assert resident[-1] < resident[3] * 1.1 + 5
    page.close()
