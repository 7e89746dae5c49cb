"""Signed webhooks: a CloudEvents 1.0 body with the headers of Standard Webhooks.

Sources: CloudEvents 1.0.2, HTTP protocol binding (structured mode); Standard Webhooks 1.0.0.
"""

import base64
import hashlib
import hmac
from collections.abc import Callable, Mapping, Sequence
from http import HTTPStatus
from typing import Any

import httpx

from api.push.channel import DONE, MEDIA_TYPE, Outcome, Told, as_json

TIMEOUT_S = 20.0
SECRET_PREFIX = "whsec_"  # noqa: S105 - the mark of a secret, not one
SECRET_BYTES = range(24, 65)

# Of the refusals these speak of the moment, not of the event.
_NOT_NOW = {HTTPStatus.REQUEST_TIMEOUT, HTTPStatus.TOO_EARLY, HTTPStatus.TOO_MANY_REQUESTS}
# And these of who asks, so that no other event would fare better.
_NOT_US = {HTTPStatus.UNAUTHORIZED, HTTPStatus.FORBIDDEN, HTTPStatus.NOT_FOUND}


def key_of(secret: str) -> bytes:
    """The key in `whsec_BASE64`, 24 to 64 bytes. Raises ValueError, which does not repeat it."""
    if not secret.startswith(SECRET_PREFIX):
        raise ValueError("a webhook secret has to begin with whsec_")
    try:
        key = base64.b64decode(secret.removeprefix(SECRET_PREFIX), validate=True)
    except ValueError:
        raise ValueError("a webhook secret has to be base64 after whsec_") from None
    if len(key) not in SECRET_BYTES:
        raise ValueError("a webhook secret has to be of 24 to 64 bytes in base64")
    return key


def signature(keys: Sequence[bytes], event_id: str, timestamp: int, body: bytes) -> str:
    """The header `webhook-signature`: one v1 a key, so that a key can be changed without a gap."""
    signed = f"{event_id}.{timestamp}.".encode() + body
    each = [base64.b64encode(hmac.digest(key, signed, hashlib.sha256)).decode() for key in keys]
    return " ".join(f"v1,{one}" for one in each)


class Webhook:
    """A receiver by HTTP. Its address is the operator's; nothing that it answers leads elsewhere.

    wall_s: the Unix time. verify: certificates to trust, as httpx takes it.
    """

    def __init__(
        self,
        name: str,
        url: str,
        keys: Sequence[bytes],
        wall_s: Callable[[], float],
        timeout_s: float = TIMEOUT_S,
    ) -> None:
        self.name = name
        self._url = url
        self._keys = keys
        self._wall_s = wall_s
        self._timeout_s = timeout_s
        self._client = httpx.AsyncClient(
            timeout=timeout_s,
            follow_redirects=False,
            trust_env=False,
            headers={"user-agent": "benchtally"},
        )

    async def send(self, event: Mapping[str, Any]) -> Told:
        """See Channel."""
        import asyncio

        try:
            # The client's timeout is for each step; one that answers a byte a second has this one.
            async with asyncio.timeout(self._timeout_s):
                return self._outcome(await self._post(event))
        except (TimeoutError, httpx.TimeoutException):
            return Told(Outcome.DOWN, f"{self.name} did not answer within {self._timeout_s:g} s")
        except (httpx.HTTPError, OSError) as error:
            return Told(Outcome.DOWN, f"{self.name} cannot be reached ({type(error).__name__})")

    async def _post(self, event: Mapping[str, Any]) -> int:
        body = as_json(event)
        timestamp = int(self._wall_s())
        headers = {
            "content-type": MEDIA_TYPE,
            "webhook-id": str(event["id"]),
            "webhook-timestamp": str(timestamp),
            "webhook-signature": signature(self._keys, str(event["id"]), timestamp, body),
        }
        # Of the answer only the status is of use: its body is not read.
        async with self._client.stream("POST", self._url, content=body, headers=headers) as answer:
            return answer.status_code

    def _outcome(self, status: int) -> Told:
        said = f"{self.name} answered {status}"
        if HTTPStatus(200) <= status < HTTPStatus(300):
            return DONE
        if status == HTTPStatus.GONE:
            return Told(Outcome.GONE, f"{said}: it wants nothing more, and is switched off")
        if status < HTTPStatus(400):
            return Told(Outcome.DOWN, f"{said}: redirects are not followed")
        if status >= HTTPStatus(500) or status in _NOT_NOW | _NOT_US:
            return Told(Outcome.DOWN, said)
        return Told(Outcome.REFUSED, f"{said} to an event; that job waits, the others go on")

    async def idle(self, cursor: int) -> str:  # noqa: ARG002
        """A webhook is told when there is something to tell."""
        return ""

    async def close(self) -> None:
        """See Channel."""
        await self._client.aclose()
