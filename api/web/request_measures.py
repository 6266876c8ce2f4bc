"""Times every request and writes it down by its route: neither what was asked for nor by whom."""

from __future__ import annotations

import logging
import time

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.operation.log_lines import log_event
from api.operation.measures import Measures

_LOG = logging.getLogger(__name__)
#: Asked for every few seconds; a log of nothing else helps nobody.
_QUIET = frozenset({"/health", "/metrics", "/static"})


class RequestMeasures:
    """ASGI middleware.

    Args:
        app: that answers.
        measures: of the server.
    """

    def __init__(self, app: ASGIApp, measures: Measures) -> None:
        self._app, self._measures = app, measures

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        begun, status = time.perf_counter(), 500

        async def out(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
            await send(message)

        try:
            await self._app(scope, receive, out)
        finally:
            self._note(scope, status, time.perf_counter() - begun)

    def _note(self, scope: Scope, status: int, seconds: float) -> None:
        route = _route(scope)
        method = scope["method"] if scope["method"] in _METHODS else "other"
        self._measures.answered(route, method, status, seconds)
        if route not in _QUIET:
            level = logging.ERROR if status >= 500 else logging.INFO
            log_event(
                _LOG, level, "request", route=route, method=method, status=status, seconds=round(seconds, 4)
            )


#: Anybody can make others up, and each would be another series.
_METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"})


def _route(scope: Scope) -> str:
    """Return the route as it is declared: an address may hold a token or a number that somebody has."""
    route = getattr(scope.get("route"), "path", None)
    if route:
        return str(route)
    return "/static" if scope["path"].startswith("/static/") else "unknown"
