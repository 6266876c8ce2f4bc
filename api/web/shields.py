"""What goes round every request: headers that keep a browser from being misled, and how much may be sent."""

from __future__ import annotations

from starlette.datastructures import MutableHeaders
from starlette.requests import HTTPConnection
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.web.guard import from_here

#: Beyond it a body is refused before it is read: no picture is larger. What is larger comes in frames.
MOST_BYTES = 64 * 2**20

_HEADERS = {
    # Everything a page uses comes from this server; nothing spoken into it can become a script.
    "content-security-policy": "default-src 'self'; img-src 'self' data: blob:; media-src 'self' blob:; "
    "object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'",
    "x-content-type-options": "nosniff",
    # With no-referrer browsers name no origin when they send a form: it could not be told from a stranger's.
    "referrer-policy": "same-origin",
    "permissions-policy": "camera=(self), microphone=(self), geolocation=()",
    "cross-origin-opener-policy": "same-origin",
}
_SAFE = frozenset({"GET", "HEAD", "OPTIONS"})


class Shields:
    """ASGI middleware."""

    def __init__(self, app: ASGIApp, most_bytes: int = MOST_BYTES) -> None:
        self._app, self._most = app, most_bytes

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        if scope["type"] == "websocket":
            if not from_here(HTTPConnection(scope)):
                await send({"type": "websocket.close", "code": 4403, "reason": "from another site"})
                return
        elif scope["type"] == "http":
            refused = self._refused(scope)
            if refused is not None:
                await refused(scope, receive, send)
                return
            await self._app(scope, _Counted(receive, self._most), _with_headers(send))
            return
        await self._app(scope, receive, send)

    def _refused(self, scope: Scope) -> PlainTextResponse | None:
        connection = HTTPConnection(scope)
        if "\x00" in scope["path"]:
            # No name here holds one, and PostgreSQL would refuse to look for it.
            return PlainTextResponse("there is no such page\n", 404)
        if scope["method"] not in _SAFE and not from_here(connection):
            return PlainTextResponse("this comes from a page of another site\n", 403)
        length = connection.headers.get("content-length", "0")
        if not length.isdigit() or int(length) > self._most:
            return PlainTextResponse(f"too much at once; expected at most {self._most} bytes\n", 413)
        return None


class _Counted:
    """The body of a request, cut off where it grows beyond what may be sent (a length may be left out)."""

    def __init__(self, receive: Receive, most: int) -> None:
        self._receive, self._left = receive, most

    async def __call__(self) -> Message:
        message = await self._receive()
        self._left -= len(message.get("body", b""))
        return message if self._left >= 0 else {"type": "http.disconnect"}


def _with_headers(send: Send) -> Send:
    async def out(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in _HEADERS.items():
                headers.setdefault(name, value)
            if not headers.get("content-type", "").startswith(("text/css", "text/javascript")):
                headers.setdefault("cache-control", "no-store")
        await send(message)

    return out
