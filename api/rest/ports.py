"""What is plugged in, and setting up a new gauge by listening to it."""

import asyncio
import os
from typing import Annotated

from fastapi import APIRouter, Depends, status
from pydantic import BaseModel, Field

from api.listen.known import ports as plugged_in
from api.listen.talk import Talk
from api.rest.asked import Asked
from api.rest.body import ExactRoute
from api.rest.problems import RESPONSES
from api.service import Service, service_of
from daq.head.errors import ConflictError, RefusedError, UnknownError
from drivers.find import resolve

router = APIRouter(route_class=ExactRoute, responses=RESPONSES, tags=["setting up"])
At = Annotated[Service, Depends(service_of)]
_LINE = r"^[^\x00-\x1f\x7f]*$"


class PortShown(BaseModel):
    """A serial port of this computer. usb: its name in whatever socket; "" where it has none.
    gauge: of the bench, that speaks there; "" for none."""

    device: str
    usb: str
    about: str
    gauge: str


class Ports(BaseModel):
    """Every serial port of this computer."""

    ports: list[PortShown]


class ListenAsked(Asked):
    """Which port to listen to."""

    port: Annotated[str, Field(min_length=1, max_length=200, pattern=_LINE)]


class SaidAsked(Asked):
    """An answer to what is asked; empty for the one that is proposed."""

    text: Annotated[str, Field(max_length=80, pattern=_LINE)]


class TalkShown(BaseModel):
    """How far setting up is. question: what is asked now, null for nothing; proposed: the answer
    that an empty one stands for. placed: the last lines are the section for bench.toml."""

    port: str
    lines: list[str]
    question: str | None
    proposed: str
    over: bool
    placed: bool


_NOBODY = TalkShown(port="", lines=[], question=None, proposed="", over=True, placed=False)


@router.get("/ports")
async def ports(service: At) -> Ports:
    """What is plugged into this computer."""
    return await asyncio.to_thread(_ports, service)


@router.post("/ports/listen", status_code=status.HTTP_202_ACCEPTED)
async def listen(asked: ListenAsked, service: At) -> TalkShown:
    """Begin to listen to a port that no gauge of the bench uses. Only what reads is sent."""
    talk = service.talk
    if talk is not None and not talk.is_over:
        raise ConflictError(f"{talk.port} is being listened to; end that first")
    device = await asyncio.to_thread(_device, service, asked.port)
    service.talk = Talk(device)
    return _shown(service.talk)


@router.get("/ports/listen")
async def listening(service: At) -> TalkShown:
    """How far it is; over, and about no port, where nobody has begun."""
    return _NOBODY if service.talk is None else _shown(service.talk)


@router.post("/ports/listen/answer")
async def answer(asked: SaidAsked, service: At) -> TalkShown:
    """Answer what is asked now."""
    talk = _talk(service)
    if not talk.answer(asked.text):
        raise ConflictError("nothing is asked now; look again in a moment")
    return _shown(talk)


@router.post("/ports/listen/stop")
async def stop(service: At) -> TalkShown:
    """End it without setting anything up."""
    talk = _talk(service)
    talk.stop()
    return _shown(talk)


def _ports(service: Service) -> Ports:
    used = _used(service)
    found = [
        PortShown(
            device=each.device,
            usb=each.usb,
            about=each.about,
            gauge=used.get(os.path.realpath(each.device), ""),
        )
        for each in plugged_in()
    ]
    return Ports(ports=found)


def _talk(service: Service) -> Talk:
    if service.talk is None:
        raise UnknownError("no port is being listened to; POST /ports/listen begins")
    return service.talk


def _shown(talk: Talk) -> TalkShown:
    asked = talk.question
    return TalkShown(
        port=talk.port,
        lines=talk.lines,
        question=None if asked is None else asked[0],
        proposed="" if asked is None else asked[1],
        over=talk.is_over,
        placed=talk.is_placed,
    )


def _device(service: Service, port: str) -> str:
    """The port, if it may be listened to: one of this computer, which no gauge of ours uses."""
    known = {name for each in plugged_in() for name in (each.device, each.usb) if name}
    if port not in known and not port.startswith("/dev/"):
        raise RefusedError(
            f"{port!r} is no serial port of this computer; there are {', '.join(sorted(known))}"
            if known
            else f"{port!r} is no serial port of this computer, and none is plugged in"
        )
    name = _used(service).get(_real(port))
    if name is not None:
        raise ConflictError(f"{port} is used by the gauge {name} of this bench")
    return port


def _used(service: Service) -> dict[str, str]:
    """Which gauge uses which device."""
    return {_real(each.spec.port): each.spec.name for each in service.run.gauges}


def _real(port: str) -> str:
    try:
        return os.path.realpath(resolve(port))
    except (OSError, ValueError):
        return port
