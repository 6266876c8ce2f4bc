"""Who may come in: every route names the right it needs, or says that it is open to all.

A browser is known by its cookie, a script by its token. What a browser sends to change something must
carry the form token of its session, which no page of another origin can know.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from hmac import compare_digest
from typing import Annotated

from fastapi import Depends, HTTPException, Request, WebSocket, WebSocketException
from starlette.requests import HTTPConnection

from api.store import web_sessions
from api.store.roles import Right, roles_with
from api.store.web_sessions import SignedIn
from api.web.shop import Shop

COOKIE = "witnessmark"
FORM_FIELD, FORM_HEADER = "form_token", "x-form-token"
_SAFE = frozenset({"GET", "HEAD", "OPTIONS"})


class SignInFirst(Exception):
    """Nobody is signed in; a browser is shown the way."""


def shop_of(connection: HTTPConnection) -> Shop:
    """Return the shop whose server this is."""
    shop: Shop = connection.app.state.shop
    return shop


def signed_in(connection: HTTPConnection) -> SignedIn | None:
    """Return who sends a request, by its token or its cookie; None for nobody."""
    shop = shop_of(connection)
    scheme, _, token = connection.headers.get("authorization", "").partition(" ")
    with shop.database.reading() as session:
        if scheme.lower() == "bearer":
            return web_sessions.by_api_token(session, token.strip())
        cookie = connection.cookies.get(COOKIE)
        who = web_sessions.signed_in(session, cookie, shop.now()) if cookie else None
    if who is not None:
        InUse(shop, who).note()
    return who


class InUse:
    """Keeps a session by badge from ending as idle while its sound comes in.

    Args:
        shop: whose session it is.
        who: is signed in by it.
    """

    def __init__(self, shop: Shop, who: SignedIn) -> None:
        self._shop, self._who = shop, who

    def note(self) -> None:
        """Write down that the session is in use, once a minute at most."""
        now = self._shop.now()
        if self._who.unnoted(now):
            with self._shop.database.writing() as session:
                web_sessions.note_use(session, self._who, now)
            self._who = replace(self._who, seen_at=now)


def open_to_all() -> None:
    """Mark a route that needs nobody signed in."""


def needs(right: Right) -> Callable[[Request], SignedIn]:
    """Return a dependency that lets in whoever has a right, and nobody else.

    Args:
        right: one of the house's.
    """

    async def let_in(request: Request) -> SignedIn:
        who = signed_in(request)
        if who is None:
            raise SignInFirst
        if right not in who.rights:
            raise HTTPException(403, _wanting(right, who))
        await check_form(request, who)
        return who

    let_in.right = right  # type: ignore[attr-defined]
    return let_in  # type: ignore[return-value]


def _wanting(right: Right, who: SignedIn) -> str:
    """Return what is missing, who has it and how to come by it."""
    roles = " or ".join(roles_with(right))
    line = f"this needs the right to {right.replace('_', ' ')} (role {roles})"
    if who.means == "badge":
        return f"{line}; a badge opens the bench and no more: sign in with your secret"
    return f"{line}; whoever keeps the accounts can give an account that role"


def over_socket(right: Right) -> Callable[[WebSocket], SignedIn]:
    """Return a dependency that lets a web socket in, as :func:`needs` does a request."""

    async def let_in(socket: WebSocket) -> SignedIn:
        who = signed_in(socket)
        if who is None or right not in who.rights:
            raise WebSocketException(4401 if who is None else 4403)
        return who

    let_in.right = right  # type: ignore[attr-defined]
    return let_in  # type: ignore[return-value]


async def anybody(request: Request) -> SignedIn:
    """Let in whoever is signed in, whatever his rights."""
    who = signed_in(request)
    if who is None:
        raise SignInFirst
    await check_form(request, who)
    return who


async def owner(who: Annotated[SignedIn, Depends(anybody)]) -> SignedIn:
    """Let in whoever is signed in by his secret: a badge or token that was found changes nobody's account."""
    if who.means != "secret":
        raise HTTPException(403, f"a {who.means} is not enough for this; sign in with your secret")
    return who


async def check_form(request: Request, who: SignedIn) -> None:
    """Refuse a change that does not carry the form token of its session.

    Raises:
        HTTPException: 403.
    """
    if request.method in _SAFE or who.form_token is None:
        return
    given = request.headers.get(FORM_HEADER)
    if given is None and request.headers.get("content-type", "").startswith(
        ("application/x-www-form-urlencoded", "multipart/form-data")
    ):
        value = (await request.form()).get(FORM_FIELD)
        given = value if isinstance(value, str) else None
    if given is None or not _same(given, who.form_token):
        raise HTTPException(403, "this form is not of this session; load the page again")


def from_here(connection: HTTPConnection) -> bool:
    """Return whether a browser sends this from a page of this server (or it is no browser)."""
    origin = connection.headers.get("origin")
    if origin is None:
        return connection.headers.get("sec-fetch-site", "none") in ("none", "same-origin")
    return origin.partition("://")[2] == connection.headers.get("host", "")


def _same(one: str, other: str) -> bool:
    return compare_digest(one.encode(), other.encode())


Anybody = Annotated[SignedIn, Depends(anybody)]
Owner = Annotated[SignedIn, Depends(owner)]
Admin = Annotated[SignedIn, Depends(needs("administer"))]
Storekeeper = Annotated[SignedIn, Depends(needs("reorder"))]
Worker = Annotated[SignedIn, Depends(needs("work"))]
Reader = Annotated[SignedIn, Depends(needs("read_records"))]
Reviewer = Annotated[SignedIn, Depends(needs("review"))]
Signer = Annotated[SignedIn, Depends(needs("sign"))]
Learner = Annotated[SignedIn, Depends(needs("learn"))]
