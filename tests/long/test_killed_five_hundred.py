"""Five hundred kills of a bench under load, on SQLite and on PostgreSQL.

`KILL_WITHIN_S=480` ends the killing earlier on a slow machine; the line that is printed says how
many there were.
"""

import math
import os

import pytest

from tests.faults.killing import kill_often
from tests.faults.test_killed_telling import rows  # noqa: F401
from tests.servers import mosquitto, postgres  # noqa: F401

KILLS = 500
WITHIN_S = float(os.environ.get("KILL_WITHIN_S", math.inf))


@pytest.mark.timeout(3600)
@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
async def test_five_hundred_kills(kind, tmp_path, postgres, mosquitto, rows):  # noqa: F811
    broker = mosquitto("allow_anonymous true", "max_queued_messages 0")
    broker.start()
    url = postgres.database("killed") if kind == "postgresql" else None
    folder = tmp_path / "data"
    said = await kill_often(KILLS, 20261125, folder, broker.port, url, rows.url, rows, WITHIN_S)
    print(f"{kind}: {said}")
