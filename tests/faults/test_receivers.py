"""Whatever a receiver does, the bench writes on and nothing is lost; for minutes in tests/long."""

import asyncio

import pytest

from tests.faults.receivers import FAILING, World, through
from tests.servers import mosquitto, postgres  # noqa: F401

ENTRIES = 20  # more than the broker queues, few enough for one that answers slowly


@pytest.mark.parametrize("what", FAILING)
async def test_nothing_is_lost(what, tmp_path, mosquitto, postgres):  # noqa: F811
    async with FAILING[what](World(tmp_path, mosquitto, postgres)) as failing:

        async def write(pushing):
            for _ in range(ENTRIES):
                await asyncio.to_thread(failing.bench.write, "job")
                pushing.tell(None)

        await through(failing, write)
