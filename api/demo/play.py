"""The demonstration with its page, at the pace of a hand."""

import asyncio
import contextlib
import socket
from collections.abc import Callable
from pathlib import Path

import uvicorn

from api.config import Address
from api.demo.bench import DemoBench, demo_bench
from api.demo.gauges import RING
from api.demo.job import folder_for, open_job
from api.logs import log_to_stderr
from api.serve import address_of, listening, server_for
from api.service import Service
from daq.head.errors import RefusedError
from drivers.pretend.stage import SteadyClock


def play(data: Path | None, seed: int, port: int, say: Callable[[str], None]) -> None:
    """Measure the invented head, with the page on `port`, until it is told to stop.

    Raises RecordError, ServeError.
    """
    log_to_stderr()
    folder = folder_for(data)
    with contextlib.closing(listening(Address("127.0.0.1", port))) as opened:
        say(f"An invented head on pretend gauges: open {address_of(opened)}")
        say(f"Records are kept in {folder}. Stop with Ctrl-C.")
        asyncio.run(_with_page(folder, seed, opened))


async def _with_page(folder: Path, seed: int, opened: socket.socket) -> None:
    async with demo_bench(folder, SteadyClock(), seed) as bench:
        instruments = {name: each.instrument for name, each in bench.pretend.items()}
        service = Service("Demonstration", folder, bench.run, instruments, (RING,), bench.working)
        server = server_for(service)
        acting = asyncio.create_task(_act(bench, seed))
        acting.add_done_callback(lambda _task: _end(server))
        try:
            await server.serve(sockets=[opened])
        finally:
            acting.cancel()
            # The person never ends by itself: an error of its own is ours to show.
            with contextlib.suppress(asyncio.CancelledError):
                await acting


def _end(server: uvicorn.Server) -> None:
    server.should_exit = True


async def _act(bench: DemoBench, seed: int) -> None:
    """The pretend person's day: one job, and then the gauges hang free."""
    job = await open_job(bench, seed)
    while True:
        try:
            await bench.person.do_job(job, lambda _seen: None)
        except RefusedError:
            continue  # somebody at the page was quicker; look again
        await bench.stage.step()
