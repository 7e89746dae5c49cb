"""Who is let in, and what they may do: this machine without a word, others with a token.

Which scope a request needs follows from its method and path alone, so that a new route is never
open by oversight: reading needs `read`, anything else `measure`, and signing needs `sign`.
"""

from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from http.cookies import CookieError, SimpleCookie
from ipaddress import ip_address
from typing import NamedTuple
from urllib.parse import quote

from api.tokens import Scope, TokenError, Tokens

COOKIE = "benchtally"
# What is needed to come in; none of it says anything of the bench.
SESSION = "/api/v1/session"
ENTER = "/enter.html"
OPEN = frozenset(
    {SESSION, ENTER, "/enter.js", "/page.css", "/icon.svg"}
    | {"/burst.js", "/words.js", "/words/en.json", "/words/de.json"}
    | {"/colours.css", "/theme.js"}
)
READING = frozenset({"GET", "HEAD", "OPTIONS", "WEBSOCKET"})
REQUESTS_A_S, REQUESTS_AT_ONCE = 50.0, 200.0
# Guessing a token is hopeless anyway; this keeps the log short.
FAILURES_A_S, FAILURES_AT_ONCE = 0.5, 10.0
CLIENTS_REMEMBERED = 10_000


class Refusal(NamedTuple):
    """Why somebody is not let in. status: of HTTP; headers: that go with it."""

    status: int
    why: str
    headers: Mapping[str, str] = {}


def scope_for(method: str, path: str) -> Scope:
    """The scope that a request needs."""
    if method in READING:
        return Scope.READ
    return Scope.SIGN if path.rstrip("/").endswith("/sign") else Scope.MEASURE


class Buckets:
    """Tokens in buckets: each client may ask `at_once` times, and then `a_s` times a second.

    now_s: a steady clock. Only the clients seen last are remembered.
    """

    def __init__(self, a_s: float, at_once: float, now_s: Callable[[], float]) -> None:
        self._a_s, self._at_once, self._now_s = a_s, at_once, now_s
        self._left: OrderedDict[str, tuple[float, float]] = OrderedDict()

    def take(self, client: str) -> bool:
        """Whether `client` may ask once more; counts it if so."""
        left = self.left(client)
        if left < 1:
            return False
        self._left[client] = (left - 1, self._now_s())
        self._left.move_to_end(client)
        if len(self._left) > CLIENTS_REMEMBERED:
            self._left.popitem(last=False)
        return True

    def left(self, client: str) -> float:
        """How often `client` may ask at once."""
        left, at_s = self._left.get(client, (self._at_once, self._now_s()))
        return min(self._at_once, left + (self._now_s() - at_s) * self._a_s)


@dataclass(frozen=True, slots=True)
class Doors:
    """How a bench is reached. tokens None: from this machine only, without a word.

    hosts: the names it answers to from elsewhere. proxied: somebody else speaks TLS for us, so
    that where a request comes from says nothing. requests, failures: how many, by client.
    """

    tokens: Tokens | None = None
    hosts: frozenset[str] = frozenset()
    proxied: bool = False
    requests: Buckets | None = field(default=None)
    failures: Buckets | None = field(default=None)

    def refusal(
        self,
        method: str,
        path: str,
        headers: Mapping[bytes, bytes],
        client: str,
        query: bytes = b"",
    ) -> Refusal | None:
        """Why this request is not let in; None if it is. client: the address it came from. query:
        what stands behind the ? of its address."""
        host = _text(headers, b"host")
        local = is_loopback(host)
        if self.tokens is None:
            if not local:
                why = "this bench answers on this machine only: ask 127.0.0.1 or localhost by name"
                return Refusal(403, why)
            return _foreign_page(headers, host)
        if not local and host_name(host) not in self.hosts:
            return Refusal(403, "this bench does not answer to that name; ask for the right one")
        if local and not self.proxied and is_loopback(client):
            return _foreign_page(headers, host)
        foreign = _foreign_page(headers, host)
        return foreign or self._without_token(method, path, headers, client, query)

    def _without_token(
        self, method: str, path: str, headers: Mapping[bytes, bytes], client: str, query: bytes
    ) -> Refusal | None:
        if self.failures is not None and self.failures.left(client) < 1:
            return _TOO_MANY
        if self.requests is not None and not self.requests.take(client):
            return _TOO_MANY
        if path in OPEN:
            return None
        try:
            scopes = None if self.tokens is None else self.tokens.scopes_of(token_in(headers))
        except TokenError:
            return Refusal(503, "the tokens of this bench cannot be read; its log says more")
        if scopes is None and method == "GET" and (path == "/" or path.endswith(".html")):
            why = "a token is needed: see /enter.html"
            return Refusal(303, why, {"location": _way_in(path, query)})
        if scopes is None:
            if self.failures is not None:
                self.failures.take(client)
            why = "a token is needed: Authorization: Bearer …, made with 'benchtally token'"
            return Refusal(401, why, {"www-authenticate": "Bearer"})
        needed = scope_for(method, path)
        if needed not in scopes:
            error = f'Bearer error="insufficient_scope", scope="{needed}"'
            why = f"this token may not do that: it needs the scope {needed}"
            return Refusal(403, why, {"www-authenticate": error})
        return None


_TOO_MANY = Refusal(429, "too many requests at once; try again in a moment", {"retry-after": "2"})


def _way_in(path: str, query: bytes) -> str:
    """The page that takes a token, told which page was asked for: from there it goes on to it."""
    asked = quote(path) + ("?" + query.decode("latin-1") if query else "")
    return ENTER if asked == "/" else f"{ENTER}?to={quote(asked, safe='', encoding='latin-1')}"


def _foreign_page(headers: Mapping[bytes, bytes], host: str) -> Refusal | None:
    origin = headers.get(b"origin")
    if origin is None or origin.decode("latin-1") in {f"http://{host}", f"https://{host}"}:
        return None
    return Refusal(403, "a page from elsewhere may not ask this bench")


def token_in(headers: Mapping[bytes, bytes]) -> str:
    """The token of a program (RFC 6750), or that of a browser, which keeps it as a cookie."""
    scheme, _, token = _text(headers, b"authorization").partition(" ")
    if scheme.lower() == "bearer":
        return token.strip()
    try:
        kept = SimpleCookie(_text(headers, b"cookie")).get(COOKIE)
    except CookieError:
        return ""
    return "" if kept is None else kept.value


def _text(headers: Mapping[bytes, bytes], name: bytes) -> str:
    return headers.get(name, b"").decode("latin-1")


def host_name(host: str) -> str:
    """The name in a Host header; its port does not matter (it may be forwarded)."""
    name = host.lower()
    if name.startswith("["):
        return name[1:].partition("]")[0]
    return name.partition(":")[0] if name.count(":") <= 1 else name


def is_loopback(host: str) -> bool:
    """Whether a Host header, or an address, names this machine."""
    name = host_name(host)
    if name == "localhost":
        return True
    try:
        return ip_address(name).is_loopback
    except ValueError:
        return False
