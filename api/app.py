"""The web application over one bench: routes, the live socket, the page, the door."""

import asyncio
import contextlib
from collections.abc import AsyncGenerator, Callable
from typing import Any

from fastapi import FastAPI
from fastapi.staticfiles import StaticFiles
from starlette.websockets import WebSocket

from api.guard import Guard
from api.live import Live
from api.metrics import Written, metrics_of
from api.rest import (
    access,
    bench,
    bring,
    commands,
    exports,
    gauges,
    jobs,
    photographs,
    plans,
    ports,
    problems,
    recordings,
    traces,
    work,
)
from api.service import Service
from api.version import VERSION

PREFIX = "/api/v1"


def create_app(service: Service, ended: Callable[[], None] = lambda: None) -> FastAPI:
    """The application; its lifespan runs the bench, unless somebody else does already.

    ended: called when the bench stopped by itself, which is a fault of the program: without it
    nothing is kept any more.
    """
    live = Live(service)
    written = Written()

    @contextlib.asynccontextmanager
    async def lifespan(_app: FastAPI) -> AsyncGenerator[None]:
        mine = []
        if service.loop is None:
            service.loop = asyncio.create_task(service.run.run())
            mine.append(service.loop)
        service.loop.add_done_callback(lambda _task: ended())
        stop_listening = _both(service.run.listen(live.tell), service.run.listen(written.tell))
        pulse = asyncio.create_task(live.pulse())
        if service.push is not None:
            stop_listening = _both(stop_listening, service.run.listen(service.push.tell))
            mine.append(asyncio.create_task(service.push.run()))
        if service.handing is not None:
            stop_listening = _both(stop_listening, service.run.listen(service.handing.tell))
            mine.append(asyncio.create_task(service.handing.run()))
        try:
            yield
        finally:
            stop_listening()
            for task in (pulse, *mine):
                task.cancel()
            await asyncio.gather(pulse, *mine, return_exceptions=True)

    app = FastAPI(
        title="benchtally",
        summary="Gauges at the cylinder-head bench, and the inspection record they fill",
        version=VERSION,
        lifespan=lifespan,
        docs_url=None,  # they fetch their scripts from elsewhere
        redoc_url=None,
    )
    app.state.service = service
    problems.install(app)
    for part in (
        *(bring, plans, jobs, traces, photographs, work),
        *(commands, bench, gauges, ports, exports, recordings, access),
    ):
        app.include_router(part.router, prefix=PREFIX)

    app.include_router(metrics_of(written))

    async def tell(socket: WebSocket) -> None:
        await live.serve(socket)

    for path in (f"{PREFIX}/live", "/live"):
        app.add_api_websocket_route(path, tell)
    app.mount("/", StaticFiles(packages=[("api", "page")], html=True), name="page")
    app.add_middleware(Guard, doors=service.doors)
    app.openapi = _with_problems(app.openapi)  # type: ignore[method-assign]
    return app


def _both(one: Callable[[], None], other: Callable[[], None]) -> Callable[[], None]:
    def act() -> None:
        one()
        other()

    return act


def _with_problems(described: Callable[[], dict[str, Any]]) -> Callable[[], dict[str, Any]]:
    """The OpenAPI description, with errors under the media type that they are sent in."""

    def describe() -> dict[str, Any]:
        schema = described()
        for path in schema["paths"].values():
            for operation in path.values():
                for status, answer in operation["responses"].items():
                    content = answer.get("content", {})
                    if not status.startswith("2") and "application/json" in content:
                        content[problems.MEDIA_TYPE] = content.pop("application/json")
        return schema

    return describe
