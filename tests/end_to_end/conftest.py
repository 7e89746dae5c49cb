"""A running service for a test, stopped after it."""

import pytest

from tests.end_to_end.service import Service


@pytest.fixture
def serve(tmp_path):
    started = []

    def start(gauges, rings=()):
        service = Service(tmp_path, gauges, rings)
        started.append(service)
        service.start()
        return service

    yield start
    for service in started:
        service.stop()
