"""The door: only this machine may ask, and no page of somebody else's may ask in its name.

A browser on this machine also shows foreign pages. One of them could let its own name point here
(DNS rebinding: the Host is then that name) or send requests across (the Origin is then its own).
Both are turned away before anything else looks at them, WebSockets included. Programs send no
Origin and are let in.
"""

from ipaddress import ip_address

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.rest.problems import problem

_POLICY = (
    b"default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'none'; "
    b"form-action 'self'; frame-ancestors 'none'"
)
_HEADERS = (
    # No script, style or picture but our own files; nobody may put the page into a frame.
    (b"content-security-policy", _POLICY),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cache-control", b"no-cache"),
)


class Guard:
    """ASGI middleware."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let through, or turn away with a sentence."""
        if scope["type"] not in {"http", "websocket"}:
            await self._app(scope, receive, send)
            return
        why = _why_not(dict(scope["headers"]))
        if not why:
            await self._app(scope, receive, _with_headers(send))
        elif scope["type"] == "websocket":
            await receive()
            await send({"type": "websocket.close", "code": 1008, "reason": why})
        else:
            await problem(403, why)(scope, receive, send)


def _why_not(headers: dict[bytes, bytes]) -> str:
    """Why this request is turned away, or ""."""
    host = headers.get(b"host", b"").decode("latin-1")
    if not is_loopback(host):
        return "this bench answers on this machine only: ask 127.0.0.1 or localhost by name"
    origin = headers.get(b"origin")
    if origin is not None and origin.decode("latin-1") != f"http://{host}":
        return "a page from elsewhere may not ask this bench"
    return ""


def is_loopback(host: str) -> bool:
    """Whether a Host header names this machine; its port does not matter (it may be forwarded)."""
    name = host.lower()
    if name.startswith("["):
        name = name[1:].partition("]")[0]
    elif name.count(":") <= 1:
        name = name.partition(":")[0]
    if name == "localhost":
        return True
    try:
        return ip_address(name).is_loopback
    except ValueError:
        return False


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            named = {name.lower() for name, _ in message.get("headers", ())}
            ours = [pair for pair in _HEADERS if pair[0] not in named]
            message = {**message, "headers": [*message.get("headers", ()), *ours]}
        await send(message)

    return sending
