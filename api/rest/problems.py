"""Every error as problem details (RFC 9457): a status, and a sentence that says what to do.

The rejected input is never sent back: it may hold what JSON cannot (a NaN), or what is not ours
to repeat.
"""

import re
from collections.abc import Mapping, Sequence
from http import HTTPStatus
from typing import Any

import structlog
from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response

from daq.head.errors import ConflictError, QuestionError, RefusedError, UnknownError
from daq.records.errors import DiskFullError, RecordError

MEDIA_TYPE = "application/problem+json"
MESSAGE_CHARS_MAX = 500

_log = structlog.get_logger(__name__)


class Fault(BaseModel):
    """One thing wrong with a request. where: a JSON pointer into the body, or the parameter."""

    where: str
    text: str


class Problem(BaseModel):
    """What went wrong (RFC 9457). detail: one sentence for a person. question: it can be done once
    somebody says that it is right; send the same again with `confirmed`."""

    type: str = "about:blank"
    title: str
    status: int
    detail: str
    errors: list[Fault] | None = None
    question: str | None = None


RESPONSES: dict[int | str, dict[str, Any]] = {
    422: {"model": Problem, "description": "What was asked cannot be done; detail says why."},
    "default": {"model": Problem, "description": "Any other error."},
}


def problem(
    status: int,
    detail: str,
    *,
    errors: Sequence[Fault] = (),
    headers: Mapping[str, str] | None = None,
    question: str | None = None,
) -> Response:
    """The answer for an error."""
    body = Problem(
        title=HTTPStatus(status).phrase,
        status=status,
        detail=detail,
        errors=list(errors) or None,
        question=question,
    )
    return JSONResponse(
        body.model_dump(exclude_none=True), status, dict(headers or {}), media_type=MEDIA_TYPE
    )


def install(app: FastAPI) -> None:
    """Answer every error of `app` with problem details."""

    def answering(status: int) -> Any:
        async def answer(_request: Request, error: Exception) -> Response:
            return problem(status, str(error))

        return answer

    # The nearest class decides: an UnknownError is a RefusedError, too.
    for kind, status in (
        (UnknownError, 404),
        (ConflictError, 409),
        (RefusedError, 422),
        (DiskFullError, 507),
        (RecordError, 503),
    ):
        app.add_exception_handler(kind, answering(status))
    app.add_exception_handler(QuestionError, _asked)
    app.add_exception_handler(HTTPException, _http)
    app.add_exception_handler(RequestValidationError, _invalid)
    app.add_exception_handler(Exception, _unexpected)


async def _asked(_request: Request, error: Exception) -> Response:
    return problem(409, f"not kept yet: {error}", question=str(error))


async def _http(request: Request, error: Exception) -> Response:
    if not isinstance(error, HTTPException):
        raise error
    path = request.url.path
    detail = str(error.detail)
    if error.status_code == HTTPStatus.NOT_FOUND and detail == HTTPStatus.NOT_FOUND.phrase:
        detail = f"there is nothing at {path[:200]!r}; /openapi.json lists what there is"
    elif error.status_code == HTTPStatus.METHOD_NOT_ALLOWED:
        detail = f"{request.method} is not possible at {path[:200]!r}; see /openapi.json"
    return problem(error.status_code, detail, headers=error.headers)


async def _invalid(_request: Request, error: Exception) -> Response:
    if not isinstance(error, RequestValidationError):
        raise error
    faults = [_fault(each) for each in error.errors()]
    return problem(422, "; ".join(fault.text for fault in faults[:3]), errors=faults)


async def _unexpected(request: Request, error: Exception) -> Response:
    _log.error("a request failed", path=request.url.path, exc_info=error)
    return problem(500, "this is a fault of the program, not of the request; its log says more")


def _fault(found: Mapping[str, Any]) -> Fault:
    source, *path = found["loc"]
    is_body = source == "body"
    name = ".".join(str(part) for part in path) if path else ("the body" if is_body else source)
    where = "".join(f"/{part}" for part in path) if is_body else str(name)
    return Fault(where=where, text=f"{name} {_predicate(found)}"[:MESSAGE_CHARS_MAX])


def _predicate(found: Mapping[str, Any]) -> str:
    message = str(found["msg"])
    match found["type"]:
        case "missing":
            return "is missing and has to be given"
        case "extra_forbidden":
            return "is not a key that is known here"
        case "value_error":
            return message.removeprefix("Value error, ")
        case "model_attributes_type" | "model_type" | "dict_type":
            return "has to be a JSON object, sent as application/json"
        case "string_pattern_mismatch" if r"\x00" in found["ctx"]["pattern"]:
            return "should hold no control characters"
    return re.sub(r"^[A-Z]\w* should", "should", message)
