"""A real service with a gauge on a pseudo serial port, and a real browser."""

import pytest

from drivers.pretend.port import PretendPort
from tests.browser.nursery import Nursery, Service
from tests.browser.pages import CHROMIUM, FLAGS, MICROMETER, Speaker


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


# Not for the session: while it is open, no other test of this process may have a loop of its own.
@pytest.fixture(scope="module")
def browser():
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()
