"""What is asked of one gauge: take what it typed, or give a reading now."""

import asyncio
from contextlib import suppress
from typing import Annotated

from fastapi import APIRouter, Depends, HTTPException, status
from pydantic import Field

from api.frames import gauge_shown
from api.rest.answers import GaugeShown
from api.rest.asked import Asked
from api.rest.body import ExactRoute
from api.rest.problems import RESPONSES
from api.service import Service, service_of
from daq.head.errors import ConflictError, RefusedError, UnknownError
from drivers.gauge import Gauge, GaugeState
from drivers.link import Keys

router = APIRouter(route_class=ExactRoute, responses=RESPONSES, tags=["bench"])
At = Annotated[Service, Depends(service_of)]
UNDERSTOOD_WITHIN_S = 2.0  # by then the bench is so far behind that the answer says less


class TypedAsked(Asked):
    """What a gauge typed like a keyboard. text: with the Enter or Tab that ends a number."""

    text: Annotated[
        str, Field(min_length=1, max_length=256, pattern=r"^[^\x00-\x08\x0b\x0c\x0e-\x1f\x7f]+$")
    ]


@router.post("/gauges/{serial}/typed")
async def typed(serial: str, asked: TypedAsked, service: At) -> GaugeShown:
    """Hand in what a gauge with the port `keys:` typed; a number in it comes as from its button."""
    gauge = _gauge(service, serial)
    link, name = gauge.link, gauge.spec.name
    if not isinstance(link, Keys):
        raise RefusedError(
            f"{name} does not type: its port is {gauge.spec.port}. A gauge that types like a "
            'keyboard has port = "keys:" and a profile like typed-number in bench.toml.'
        )
    rejected = gauge.wire.rejected_messages
    if not link.type(asked.text):
        raise ConflictError(
            f"nobody took what {name} typed: "
            f"{link.trouble or 'too much that was typed waits already.'} Send it once more."
        )
    with suppress(TimeoutError):
        async with asyncio.timeout(UNDERSTOOD_WITHIN_S):
            await link.drained(link.bytes_read)
            await service.run.settled()  # whoever looks at the bench next sees what came of it
    if gauge.wire.rejected_messages > rejected:
        raise RefusedError(
            f"{name} typed {gauge.wire.last_rejected!r}, which profile {gauge.spec.profile.name} "
            "does not understand; nothing was taken from it. Send the number once more."
        )
    return _shown(service, gauge)


@router.post("/gauges/{serial}/ask")
async def ask(serial: str, service: At) -> GaugeShown:
    """Ask a gauge for one reading now; it comes to the bench as from the gauge's button."""
    gauge = _gauge(service, serial)
    name = gauge.spec.name
    if gauge.spec.profile.asked is None:
        raise RefusedError(
            f"{name} is not asked: its profile {gauge.spec.profile.name} sends by itself. Take "
            "its reading from what it sends."
        )
    if gauge.state is GaugeState.GONE:
        raise ConflictError(f"{name} cannot be asked: {gauge.trouble}")
    if not await gauge.ask_now():
        raise HTTPException(
            status.HTTP_504_GATEWAY_TIMEOUT,
            f"{name} was asked and did not answer. Is it switched on? Ask again.",
        )
    return _shown(service, gauge)


def _gauge(service: Service, serial: str) -> Gauge:
    """The gauge with that serial number; a name does, too, for one that has none."""
    found = [
        gauge
        for gauge in service.run.gauges
        if serial in (service.instruments[gauge.spec.name].serial, gauge.spec.name)
    ]
    if not found:
        raise UnknownError(
            f"no gauge of this bench has the serial number or name {serial[:80]!r}; "
            "GET /api/v1/gauges lists them"
        )
    if len(found) > 1:
        names = ", ".join(gauge.spec.name for gauge in found)
        raise ConflictError(f"{names} have the same serial number; ask by the gauge's name")
    return found[0]


def _shown(service: Service, gauge: Gauge) -> GaugeShown:
    return gauge_shown(gauge, service.instruments[gauge.spec.name])
