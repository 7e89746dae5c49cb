"""A real bench for the tests of its web side: config, pseudo ports, gauges, SQLite, run."""

import contextlib
import itertools
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx
import pytest

from api.app import create_app
from api.build import build
from api.config import load_config
from daq.records.journal import Journal
from drivers.pretend.port import PretendPort

CONFIG = """\
[bench]
name = "Bench 1"
data = "bench-data"
listen = "127.0.0.1:0"

[[gauge]]
name = "runout indicator"
serial = "G-1037"
port = "{folder}/indicator"
profile = "plain-line"
resolution_mm = 0.001
error_limit_mm = 0.001
measures = ["valve.stem_runout"]

[[gauge]]
name = "micrometer"
serial = "G-1042"
port = "{folder}/micrometer"
profile = "plain-line"
resolution_mm = 0.001
error_limit_mm = 0.001
measures = ["valve.stem_diameter"]

[vblock]
angle_deg = 90

[[ring]]
name = "ring 7"
size_mm = 7.0012
certificate = "R-221"
"""


@pytest.fixture
def ports(tmp_path):
    """Two pseudo serial ports that nothing speaks into yet."""
    names = ("indicator", "micrometer")
    found = {name: PretendPort(tmp_path / name) for name in names}
    yield found
    for port in found.values():
        port.unplug()


@pytest.fixture
def bench_toml(tmp_path, ports) -> Path:
    file = tmp_path / "bench.toml"
    file.write_text(CONFIG.format(folder=tmp_path))
    return file


def counted_ids():
    """Ids that come in order, so that a failure can be read."""
    count = itertools.count(1)
    return lambda: f"00000000-0000-4000-8000-{next(count):012d}"


def counted_time():
    """A clock that goes one second further each time it is asked."""
    start, count = datetime(2026, 11, 25, 9, 0, tzinfo=UTC), itertools.count()
    return lambda: start + timedelta(seconds=next(count))


@pytest.fixture
async def service(bench_toml):
    loaded = load_config(bench_toml)
    journal = Journal.open(loaded.data, now=counted_time(), new_id=counted_ids())
    with contextlib.closing(journal):
        yield build(loaded, journal)


@pytest.fixture
async def client(service):
    app = create_app(service)
    transport = httpx.ASGITransport(app, raise_app_exceptions=False)
    async with (
        app.router.lifespan_context(app),
        httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1:8620") as client,
    ):
        yield client


@pytest.fixture
async def job(client) -> str:
    """The id of an open job of the invented head."""
    answer = await client.post("/api/v1/jobs", json={"number": "J-1", "plan": "four-by-two"})
    assert answer.status_code == 201, answer.text
    return answer.json()["id"]


STEM = {
    "characteristic": "valve.stem_diameter",
    "position": "1I",
    "place": {"depth_mm": "12", "direction": "along"},
    "value": "6.971",
    "unit": "mm",
    "came": "keyed",
}


@pytest.fixture
def stem() -> dict:
    """A value that can be keyed in."""
    return dict(STEM)
