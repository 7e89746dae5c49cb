"""A bench killed again and again under load, on both databases; five hundred are in tests/long."""

import uuid

import psycopg
import pytest

from tests.faults.killing import kill_often
from tests.servers import mosquitto, postgres  # noqa: F401

KILLS = 10  # of 500


@pytest.fixture
def rows(postgres):  # noqa: F811
    """The collector's database, and how it is asked."""
    url = postgres.database(f"c{uuid.uuid4().hex}")

    def ask(query):
        with psycopg.connect(url) as connection:
            return connection.execute(query).fetchall()

    ask.url = url
    return ask


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
async def test_killed_under_load(kind, tmp_path, postgres, mosquitto, rows):  # noqa: F811
    broker = mosquitto()
    broker.start()
    url = postgres.database(f"b{uuid.uuid4().hex}") if kind == "postgresql" else None
    print(await kill_often(KILLS, 1, tmp_path / "data", broker.port, url, rows.url, rows))
