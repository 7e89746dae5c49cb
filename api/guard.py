"""The door: this machine may ask, others with a token, and no page of somebody else's for them.

A browser on this machine also shows foreign pages. One of them could let its own name point here
(DNS rebinding: the Host is then that name) or send requests across (the Origin is then its own).
Both are turned away before anything else looks at them, WebSockets included. Programs send no
Origin and are let in.
"""

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.access import Doors, Refusal
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


# Of any request; those that carry JSON have a smaller limit of their own (api/rest/body.py).
BODY_BYTES_MOST = 8 * 1024 * 1024


class Guard:
    """ASGI middleware."""

    def __init__(self, app: ASGIApp, doors: Doors) -> None:
        self._app = app
        self._doors = doors

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let through, or turn away with a sentence."""
        if scope["type"] not in {"http", "websocket"}:
            await self._app(scope, receive, send)
            return
        headers = dict(scope["headers"])
        client = (scope.get("client") or ("", 0))[0]
        method = scope.get("method", "WEBSOCKET")
        query = scope.get("query_string", b"")
        refusal = self._doors.refusal(method, scope["path"], headers, client, query)
        if refusal is None and _is_too_long(headers):
            refusal = Refusal(413, f"the body is larger than {BODY_BYTES_MOST} bytes; send less")
        if refusal is None:
            await self._app(scope, receive, _with_headers(send))
        elif scope["type"] == "websocket":
            await receive()
            await send({"type": "websocket.close", "code": 1008, "reason": refusal.why})
        else:
            answer = problem(refusal.status, refusal.why, headers=refusal.headers)
            await answer(scope, receive, send)


def _is_too_long(headers: dict[bytes, bytes]) -> bool:
    """Whether the request says itself that it is too long; else that is seen while reading."""
    said = headers.get(b"content-length", b"")
    return said.isdigit() and int(said[:20]) > BODY_BYTES_MOST


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            named = {name.lower() for name, _ in message.get("headers", ())}
            ours = [pair for pair in _HEADERS if pair[0] not in named]
            message = {**message, "headers": [*message.get("headers", ()), *ours]}
        await send(message)

    return sending
