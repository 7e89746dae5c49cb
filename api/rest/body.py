"""How a request's body is read: bounded, exact, and without what only looks like JSON.

Numbers with a point become decimals without passing through a float, so `0.1` stays 0.1.
"""

import json
from collections.abc import Callable, Coroutine
from decimal import Decimal
from typing import Any, ClassVar

from fastapi import HTTPException, Request, Response
from fastapi.routing import APIRoute

BODY_BYTES_MAX = 64 * 1024
# Longer whole numbers are refused as values anyway; int() of thousands of digits is slow.
_INT_DIGITS_MAX = 18


class ExactRequest(Request):
    """A request whose body is read within a limit and parsed without losing a digit."""

    bytes_most: ClassVar = BODY_BYTES_MAX

    async def body(self) -> bytes:
        """The body. Raises 413 as soon as it is longer than `bytes_most`."""
        if not hasattr(self, "_body"):
            held = bytearray()
            async for chunk in self.stream():
                held += chunk
                if len(held) > self.bytes_most:
                    raise HTTPException(
                        413, f"the body is larger than {self.bytes_most} bytes; send less at once"
                    )
            self._body = bytes(held)
        return self._body

    async def json(self) -> Any:
        """The value the body spells. Raises 400 with what is wrong and where."""
        return parsed(await self.body())


class ExactRoute(APIRoute):
    """A route that reads its body as `ExactRequest` does."""

    request_class: ClassVar = ExactRequest

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """See FastAPI: a custom request class is handed to the stock handler."""
        stock = super().get_route_handler()

        async def handler(request: Request) -> Response:
            return await stock(self.request_class(request.scope, request.receive))

        return handler


def parsed(body: bytes) -> Any:
    """The JSON object in `body`; raises HTTPException for what is none."""
    try:
        text = body.decode("utf-8")
        value = json.loads(
            text,
            parse_float=Decimal,
            parse_int=_whole,
            parse_constant=Decimal,  # a NaN is refused where it stands, with the key's name
            object_pairs_hook=_each_once,
        )
        # "\ud800" is half a character: JSON can spell it, UTF-8 and the database cannot.
        json.dumps(value, ensure_ascii=False, default=str).encode("utf-8")
    except json.JSONDecodeError as error:
        raise HTTPException(
            400, f"the body is not JSON: {error.msg}, line {error.lineno} column {error.colno}"
        ) from None
    except UnicodeError:
        raise HTTPException(400, "the body holds text that is not UTF-8; send UTF-8") from None
    except RecursionError:
        raise HTTPException(400, "the body is nested too deeply") from None
    except _TwiceError as error:
        raise HTTPException(400, str(error)) from None
    if not isinstance(value, dict):
        raise HTTPException(422, "the body has to be a JSON object")
    return value


class _TwiceError(ValueError):
    pass


def _each_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        keys = [key for key, _ in pairs]
        twice = next(key for key in keys if keys.count(key) > 1)
        raise _TwiceError(f"{twice[:40]!r} stands twice in one object; which one is meant?")
    return found


def _whole(digits: str) -> int | Decimal:
    return int(digits) if len(digits) <= _INT_DIGITS_MAX else Decimal(digits)
