"""From another machine nothing goes without a token, and no more than its scopes allow.

The table of routes is made from the routes themselves, so that a new one is in it.
"""

import dataclasses
import itertools
import json

import httpx
import pytest
from fastapi import APIRouter
from starlette.applications import Starlette
from starlette.routing import Mount, Route, WebSocketRoute

from api.access import COOKIE, OPEN, SESSION, Buckets, Doors, scope_for
from api.app import create_app
from api.tokens import FILE_NAME, Scope, Tokens

HOST = "bench-1.shop"
ELSEWHERE = ("192.0.2.7", 50_000)  # RFC 5737: an address for documents


@pytest.fixture
def tokens(tmp_path):
    return Tokens(tmp_path / "access")


@pytest.fixture
def held(tokens):
    """A token for each scope alone."""
    return {scope: tokens.add(f"only {scope}", [scope], "2026-11-25") for scope in Scope}


@pytest.fixture
def app(service, tokens):
    service.doors = Doors(tokens=tokens, hosts=frozenset({HOST}))
    return create_app(service)


@pytest.fixture
async def outside(app):
    transport = httpx.ASGITransport(app, raise_app_exceptions=False, client=ELSEWHERE)
    async with (
        app.router.lifespan_context(app),
        httpx.AsyncClient(transport=transport, base_url=f"https://{HOST}") as client,
    ):
        yield client


def table(app):
    """Every method and path that the application answers, sockets among them as WEBSOCKET."""
    return sorted({*walked(app.routes), *described(app)})


def walked(routes, before=""):
    """A kind of route that this does not know is a fault: what is below it would be forgotten."""
    for route in routes:
        if hasattr(route, "original_router"):  # FastAPI's, of `include_router`
            prefix = before + route.include_context.prefix
            yield from walked(route.original_router.routes, prefix)
            continue
        assert isinstance(route, Route | WebSocketRoute | Mount), f"not in the table: {route!r}"
        path = before + route.path.replace("{", "").replace("}", "")
        if isinstance(route, Mount):
            # Files of the page lie below a mount that has no routes of its own.
            yield from walked(route.routes, path)
        else:
            methods = ["WEBSOCKET"] if isinstance(route, WebSocketRoute) else route.methods
            yield from ((method, path) for method in methods)


def described(app):
    paths = app.openapi()["paths"]
    return {
        (method.upper(), path.replace("{", "").replace("}", ""))
        for path, methods in paths.items()
        for method in methods
    }


def bearer(token):
    return {"authorization": f"Bearer {token}"}


async def test_every_route_is_refused_without_a_token_and_without_its_scope(app, outside, held):
    routes = [(method, path) for method, path in table(app) if path not in OPEN]
    assert len(routes) > 20
    assert ("POST", "/api/v1/jobs/job/sign") in routes
    for method, path in routes:
        if method == "WEBSOCKET":
            continue  # asked in another way, below
        bare = await outside.request(method, path)
        assert bare.status_code in {401, 303}, (method, path)
        needed = scope_for(method, path)
        for scope, token in held.items():
            answer = await outside.request(method, path, headers=bearer(token))
            if scope is needed:
                assert answer.status_code not in {401, 403, 500}, (method, path, scope)
            else:
                assert answer.status_code == 403, (method, path, scope)
                assert f'scope="{needed}"' in answer.headers["www-authenticate"]


def test_a_new_route_is_in_the_table_whatever_way_it_is_added(app):
    async def forgotten():
        """Not in any list."""

    before = set(table(app))
    hidden = {"include_in_schema": False}
    router = APIRouter(prefix="/part")
    router.add_api_route("/forgotten", forgotten, methods=["POST"], **hidden)
    app.include_router(router, prefix="/api/v1")
    app.add_api_route("/api/v1/forgotten", forgotten, methods=["PATCH"], **hidden)
    app.mount("/below", Starlette(routes=[Route("/forgotten", forgotten, methods=["PUT"])]))
    app.add_api_websocket_route("/forgotten", forgotten)
    assert set(table(app)) - before == {
        ("POST", "/api/v1/part/forgotten"),
        ("PATCH", "/api/v1/forgotten"),
        ("PUT", "/below/forgotten"),
        ("WEBSOCKET", "/forgotten"),
    }


def test_what_each_route_needs(app):
    """Signing is one route. A new one that is as final has to be put here and end in `/sign`."""
    needed = {(method, path): scope_for(method, path) for method, path in table(app)}
    assert [each for each, scope in needed.items() if scope is Scope.SIGN] == [
        ("POST", "/api/v1/jobs/job/sign")
    ]
    reading = {method for (method, _), scope in needed.items() if scope is Scope.READ}
    assert reading == {"GET", "HEAD", "WEBSOCKET"}


def test_nothing_of_a_bench_is_open(app):
    """What needs no token is how one comes in, and files of the page that say nothing."""
    routes = {path for _, path in table(app)}
    assert routes & OPEN == {SESSION}
    for path in OPEN - routes:
        assert path.endswith((".html", ".js", ".css", ".svg", ".json"))
        assert not path.startswith("/api/")


async def test_who_asks_for_another_name_is_turned_away(outside, held):
    for host in ("evil.example", "192.0.2.1", ""):
        headers = {**bearer(held[Scope.READ]), "host": host}
        assert (await outside.get("/api/v1/health", headers=headers)).status_code == 403


async def test_a_page_from_elsewhere_may_not_ask_with_the_cookie(outside, held):
    headers = {"cookie": f"{COOKIE}={held[Scope.READ]}", "origin": "https://evil.example"}
    assert (await outside.get("/api/v1/health", headers=headers)).status_code == 403
    headers["origin"] = f"https://{HOST}"
    assert (await outside.get("/api/v1/health", headers=headers)).status_code == 200


async def test_a_host_header_of_this_machine_does_not_let_others_in(outside):
    answer = await outside.get("/api/v1/health", headers={"host": "localhost"})
    assert answer.status_code == 401


@pytest.mark.parametrize("proxied", [True, False])
async def test_this_machine_itself_needs_no_token_unless_a_proxy_stands_before(
    service, tokens, proxied
):
    service.doors = Doors(tokens=tokens, hosts=frozenset({HOST}), proxied=proxied)
    app = create_app(service)
    transport = httpx.ASGITransport(app, client=("127.0.0.1", 5))
    async with (
        app.router.lifespan_context(app),
        httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1:8620") as client,
    ):
        answer = await client.get("/api/v1/health")
    assert answer.status_code == (401 if proxied else 200)


async def test_a_browser_comes_in_once_and_no_script_can_read_what_it_keeps(outside, held):
    for page, way_in in (
        ("/", "/enter.html"),
        ("/gauges.html", "/enter.html?to=%2Fgauges.html"),
        ("/job.html?job=x&part=valve", "/enter.html?to=%2Fjob.html%3Fjob%3Dx%26part%3Dvalve"),
        ("/a%0d%0ab.html?%0d%0a", "/enter.html?to=%2Fa%250D%250Ab.html%3F%250d%250a"),
    ):
        assert (await outside.get(page)).headers["location"] == way_in
    assert (await outside.get("/enter.html")).status_code == 200
    refused = await outside.post("/api/v1/session", headers=bearer("bt_00000000_" + "A" * 43))
    assert refused.status_code == 401
    answer = await outside.post("/api/v1/session", headers=bearer(held[Scope.READ]))
    kept = answer.headers["set-cookie"].lower()
    assert all(each in kept for each in ("httponly", "secure", "samesite=strict"))
    assert (await outside.get("/api/v1/health")).status_code == 200
    await outside.delete("/api/v1/session")
    assert (await outside.get("/api/v1/health")).status_code == 401


async def test_every_socket_needs_a_token_too(app, held):
    """As the ASGI specification says: closed before it was accepted."""
    said = []

    async def receive():
        return {"type": "websocket.connect"}

    async def send(message):
        said.append(message)

    sockets = [path for method, path in table(app) if method == "WEBSOCKET"]
    assert "/api/v1/live" in sockets
    for path, token in itertools.product(sockets, ("", held[Scope.SIGN], held[Scope.MEASURE])):
        headers = [(b"host", HOST.encode()), (b"authorization", f"Bearer {token}".encode())]
        scope = {"type": "websocket", "path": path, "headers": headers}
        said.clear()
        await app({**scope, "client": ELSEWHERE, "query_string": b""}, receive, send)
        assert [(each["type"], each["code"]) for each in said] == [("websocket.close", 1008)]
        assert "token" in said[-1]["reason"]


async def test_a_removed_token_lets_nobody_in_any_more(outside, tokens, held):
    token = held[Scope.READ]
    assert (await outside.get("/api/v1/health", headers=bearer(token))).status_code == 200
    tokens.remove(token.split("_")[1])
    assert (await outside.get("/api/v1/health", headers=bearer(token))).status_code == 401


@pytest.mark.parametrize("content", ["", "{}", "[1]", '[{"id": 1}]'])
async def test_tokens_that_cannot_be_read_let_nobody_in(outside, tokens, held, content):
    tokens.file.write_text(content)
    answer = await outside.get("/api/v1/health", headers=bearer(held[Scope.READ]))
    assert answer.status_code in {401, 503}


async def test_guessing_is_slowed_down_and_then_the_right_one_waits_too(app, service, tokens, held):
    now = [0.0]
    failures = Buckets(0.5, 3, lambda: now[0])
    doors = dataclasses.replace(service.doors, failures=failures)
    asked = {b"host": HOST.encode(), b"authorization": b"Bearer bt_x"}
    said = [doors.refusal("GET", "/api/v1/health", asked, "192.0.2.7") for _ in range(5)]
    assert [each.status for each in said] == [401, 401, 401, 429, 429]
    assert doors.refusal("GET", "/x", asked, "192.0.2.8").status == 401
    now[0] += 2.0
    assert doors.refusal("GET", "/x", asked, "192.0.2.7").status == 401


def test_each_client_has_its_own_rate():
    now = [0.0]
    buckets = Buckets(2.0, 3.0, lambda: now[0])
    assert [buckets.take("a") for _ in range(4)] == [True, True, True, False]
    assert buckets.take("b")
    now[0] += 0.5
    assert [buckets.take("a") for _ in range(2)] == [True, False]


async def test_a_body_that_is_too_long_is_not_read(outside, held):
    headers = {**bearer(held[Scope.MEASURE]), "content-length": str(10**9)}
    answer = await outside.post("/api/v1/jobs", headers=headers, content=b"{}")
    assert answer.status_code == 413


def test_at_rest_there_is_a_hash_and_for_the_owner_only(tokens, held):
    text = tokens.file.read_text()
    for token in held.values():
        assert token.split("_", 2)[2] not in text
    assert tokens.file.stat().st_mode & 0o777 == 0o600
    assert {each["name"] for each in json.loads(text)} == {f"only {scope}" for scope in Scope}
    assert tokens.file.name == FILE_NAME


def test_a_token_of_another_bench_is_nothing_here(tokens, held, tmp_path):
    other = Tokens(tmp_path / "other").add("x", [Scope.READ], "2026-11-25")
    assert tokens.scopes_of(other) is None
    for wrong in ("", "bt_", held[Scope.READ][:-1], held[Scope.READ] + "A", "x" * 10_000):
        assert tokens.scopes_of(wrong) is None
    assert tokens.scopes_of(held[Scope.READ]) == {"read"}


async def test_no_secret_is_said_in_a_refusal_or_the_log(outside, capsys, held):
    token = held[Scope.SIGN]
    answer = await outside.get("/api/v1/jobs", headers=bearer(token))
    wrong = await outside.get("/api/v1/jobs", headers=bearer("bt_00000000_hush"))
    said = answer.text + wrong.text + "".join(capsys.readouterr())
    assert token not in said
    assert "hush" not in said
