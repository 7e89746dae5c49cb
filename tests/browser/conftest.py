"""A real service with a gauge on a pseudo serial port, and a real browser."""

import re
import subprocess
import sys

import pytest

from drivers.pretend.port import PretendPort
from tests.browser.pages import CHROMIUM, CONFIG, FLAGS, Speaker


def pytest_collection_modifyitems(items):
    for item in items:
        if CHROMIUM is None and item.path.parent.name == "browser":
            item.add_marker(
                pytest.mark.skip(reason="chromium is not installed: apt-get install chromium")
            )


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
