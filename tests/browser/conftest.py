"""A real service with a gauge on a pseudo serial port, and a real browser."""

import contextlib

import pytest

from drivers.pretend.port import PretendPort
from tests.browser.nursery import Nursery, Service
from tests.browser.pages import CHROMIUM, FLAGS, MICROMETER, Speaker
from tests.browser.typist import free_port, typist_at


def pytest_collection_modifyitems(items):
    for item in items:
        if CHROMIUM is None and item.path.parent.name == "browser":
            item.add_marker(
                pytest.mark.skip(reason="chromium is not installed: apt-get install chromium")
            )


@pytest.fixture
def speaker(tmp_path):
    """Make gauges that speak, by name; each is pulled out after the test."""
    made = []

    def make(name="micrometer", at_mm=11.5):
        made.append(Speaker(PretendPort(tmp_path / name), at_mm))
        return made[-1]

    yield make
    for each in made:
        each.stop()
        each.port.unplug()


@pytest.fixture
def gauge(speaker):
    return speaker()


@pytest.fixture(scope="session")
def nursery():
    made = Nursery()
    yield made
    made.close()


@pytest.fixture
def serve(nursery, tmp_path):
    """Start a service with these tables in its config; it is killed after the test."""

    def start(tables):
        service = Service(nursery, tmp_path, tables)
        service.start()
        return service

    yield start
    nursery.kill()


@pytest.fixture
def service(serve, gauge):
    """A running service with the micrometer; gives it and its address."""
    made = serve(MICROMETER.format(port=gauge.port.path))
    return made, made.address


@pytest.fixture(scope="module")
def debugging_port():
    """Where the browser is told of keys that do not come from the test's own driver."""
    return free_port()


# Not for the session: while it is open, no other test of this process may have a loop of its own.
@pytest.fixture(scope="module")
def browser(debugging_port):
    from playwright.sync_api import sync_playwright

    flags = [*FLAGS, f"--remote-debugging-port={debugging_port}"]
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=flags)
        yield browser
        browser.close()


@pytest.fixture
def typist(browser, debugging_port):
    """Make gauges that type, each into the one page that is open at an address."""
    with contextlib.ExitStack() as open_ones:
        yield lambda address: open_ones.enter_context(typist_at(debugging_port, address))
