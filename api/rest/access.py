"""Coming in with a browser: the token is given once, and kept where no script can read it."""

from fastapi import APIRouter, Request, Response, status

from api.access import COOKIE, Doors, token_in
from api.rest.problems import RESPONSES, problem
from api.tokens import TokenError

router = APIRouter(responses=RESPONSES, tags=["access"])
KEPT_S = 12 * 3600  # a working day


@router.post("/session", status_code=status.HTTP_204_NO_CONTENT, response_class=Response)
async def enter(request: Request) -> Response:
    """Keep the token of the Authorization header as a cookie of this browser."""
    doors: Doors = request.app.state.service.doors
    token = token_in({b"authorization": request.headers.get("authorization", "").encode()})
    try:
        known = doors.tokens is not None and doors.tokens.scopes_of(token) is not None
    except TokenError:
        return problem(503, "the tokens of this bench cannot be read; its log says more")
    if not known:
        return problem(
            401, "that is no token of this bench", headers={"www-authenticate": "Bearer"}
        )
    answer = Response(status_code=status.HTTP_204_NO_CONTENT)
    secure = doors.proxied or request.url.scheme == "https"
    answer.set_cookie(
        COOKIE, token, max_age=KEPT_S, httponly=True, secure=secure, samesite="strict"
    )
    return answer


@router.delete("/session", status_code=status.HTTP_204_NO_CONTENT, response_class=Response)
async def leave() -> Response:
    """Forget the token."""
    answer = Response(status_code=status.HTTP_204_NO_CONTENT)
    answer.delete_cookie(COOKIE)
    return answer
