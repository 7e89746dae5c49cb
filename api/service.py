"""What the web side of a bench shares: the run, who the gauges are, and what it is called."""

import asyncio
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from fastapi import HTTPException, Request

from api.access import Doors
from api.export.given import QifCheck
from api.handing.over import HandingOver
from api.listen.talk import Talk
from api.push.pushing import Pushing
from daq.head.instrument import Instrument, Ring
from daq.run import Run

STOPPED = "the bench has stopped; what was kept is safe; start the service again"


@dataclass(slots=True)
class Service:
    """One bench on the web. opening: held while a job is opened, so that no number is given to
    two jobs at once. loop: the task that carries readings, once it was started. tools: those
    without a wire, by name. push: the senders, where there is somebody to tell. doors: who is let
    in. handing: what writes the exports of closed jobs into a folder, where one is named.
    qif_check: what QIF has to pass before it leaves, where the config names a schema. talk: the
    last gauge that was set up from the page."""

    name: str
    data: Path
    run: Run
    instruments: Mapping[str, Instrument]
    rings: Sequence[Ring]
    loop: "asyncio.Task[None] | None" = None
    tools: Mapping[str, Instrument] = field(default_factory=dict)
    opening: asyncio.Lock = field(default_factory=asyncio.Lock)
    push: Pushing | None = None
    doors: Doors = field(default_factory=Doors)
    handing: HandingOver | None = None
    qif_check: QifCheck | None = None
    talk: Talk | None = None

    @property
    def is_running(self) -> bool:
        """Whether readings are being carried to the disk."""
        return self.loop is not None and not self.loop.done()


def service_even_stopped(request: Request) -> Service:
    """The service that a request came to, whatever its state."""
    found: Service = request.app.state.service
    return found


def service_of(request: Request) -> Service:
    """The service that a request came to. Raises 503 once its bench has stopped."""
    found = service_even_stopped(request)
    if not found.is_running:
        raise HTTPException(503, STOPPED)
    return found
