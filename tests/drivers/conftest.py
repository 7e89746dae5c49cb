"""Real pseudo serial ports, and listeners that stop with the test."""

import asyncio
from collections.abc import AsyncGenerator, Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest

from drivers.pretend.port import PretendPort


@pytest.fixture
def port(tmp_path: Path) -> Iterator[PretendPort]:
    """A pseudo serial port, plugged in."""
    pretend = PretendPort(tmp_path / "gauge")
    yield pretend
    pretend.unplug()


@pytest.fixture
async def listen() -> AsyncGenerator[Callable[..., list[Any]], None]:
    """Collect what a stream yields into a list, in a task that ends with the test."""
    tasks = []

    def start(stream: AsyncGenerator[Any, None]) -> list[Any]:
        got: list[Any] = []

        async def collect() -> None:
            try:
                async for item in stream:
                    got.append(item)  # noqa: PERF401 - the test looks while it grows
            finally:
                await stream.aclose()

        tasks.append(asyncio.create_task(collect()))
        return got

    yield start
    for task in tasks:
        task.cancel()
        with suppress(asyncio.CancelledError):
            await task


@pytest.fixture
def until() -> Callable[..., Any]:
    """Wait, in real time, until something has come true; a test that never sees it fails."""

    async def wait(true: Callable[[], bool], seconds: float = 60.0) -> None:
        async with asyncio.timeout(seconds):
            while not true():  # noqa: ASYNC110 - what is waited for is outside the loop
                await asyncio.sleep(0.002)

    return wait
