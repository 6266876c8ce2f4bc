"""What becomes of an exception in a request: a page for people, JSON for programs, one clear line in both."""

from __future__ import annotations

import errno
from http import HTTPStatus

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, RedirectResponse, Response
from starlette.exceptions import HTTPException

from api.web.guard import SignInFirst, signed_in
from api.web.pages import page
from shared.errors import (
    AccountRefused,
    ConsentMissing,
    GaugeRefused,
    HoursRefused,
    JournalFull,
    NotKept,
    OutOfTurn,
    OutputUnwritable,
    PictureError,
    RebuildError,
    SheetError,
    StockRefused,
    StoreBusy,
    StoreRefused,
    StoreUnusable,
)

_STATUS: tuple[tuple[type[RebuildError], int], ...] = (
    (NotKept, 404),
    (ConsentMissing, 403),
    (OutOfTurn, 409),
    (AccountRefused, 422),
    (GaugeRefused, 422),
    (HoursRefused, 422),
    (StockRefused, 422),
    (SheetError, 422),
    (PictureError, 422),
    (StoreBusy, 503),
    (StoreRefused, 422),
    (StoreUnusable, 507),
    (JournalFull, 507),
    (OutputUnwritable, 507),
)

_NO_ROOM = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG})


def tell_failures(app: FastAPI) -> None:
    """Have every exception told as it should be."""

    @app.exception_handler(SignInFirst)
    async def _sign_in(request: Request, _: Exception) -> Response:
        if _wants_page(request) and request.method == "GET":
            return RedirectResponse(f"/sign-in?then={request.url.path}", 303)
        return _told(request, 401, "nobody is signed in", "sign-in-first")

    @app.exception_handler(RebuildError)
    async def _ours(request: Request, exc: Exception) -> Response:
        assert isinstance(exc, RebuildError)
        status = next((status for kind, status in _STATUS if isinstance(exc, kind)), 422)
        return _told(request, status, str(exc), exc.code)

    @app.exception_handler(OSError)
    async def _disk(request: Request, exc: Exception) -> Response:
        assert isinstance(exc, OSError)
        if exc.errno not in _NO_ROOM:
            raise exc
        return _told(request, 507, "the disk is full; make room and try again", OutputUnwritable.code)

    @app.exception_handler(HTTPException)
    async def _http(request: Request, exc: Exception) -> Response:
        assert isinstance(exc, HTTPException)
        line = exc.detail
        # What the framework says of a path that no room has tells nobody what to do.
        if exc.status_code == 404 and line == HTTPStatus.NOT_FOUND.phrase:
            line = f"there is nothing at {request.url.path}; look at the address, or begin at the start page"
        return _told(request, exc.status_code, line, f"http-{exc.status_code}")

    @app.exception_handler(RequestValidationError)
    async def _fields(request: Request, exc: Exception) -> Response:
        assert isinstance(exc, RequestValidationError)
        first = exc.errors()[0]
        where = ".".join(str(part) for part in first["loc"][1:]) or "the request"
        return _told(request, 422, f"{where}: {first['msg']}", "field-invalid")


def _told(request: Request, status: int, line: str, code: str) -> Response:
    if _wants_page(request):
        return page(request, "failure", who=signed_in(request), status=status, line=line, code=code)
    return JSONResponse({"error": {"code": code, "what": line}}, status)


def _wants_page(request: Request) -> bool:
    return "text/html" in request.headers.get("accept", "")
