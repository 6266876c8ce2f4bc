"""Signing in and out, and the very first set-up."""

from __future__ import annotations

from hmac import compare_digest
from typing import Annotated

from fastapi import APIRouter, Depends, HTTPException, Request
from fastapi.responses import RedirectResponse, Response
from sqlalchemy.orm import Session

from api.store import web_sessions
from api.store.accounts import by_badge, by_secret, is_first_run, make_account
from api.store.roles import rights_of
from api.store.tables import Account
from api.tags.tag_text import read_tag
from api.web.forms import Code, Line, Secret
from api.web.guard import COOKIE, Anybody, open_to_all, shop_of, signed_in
from api.web.pages import page, within
from api.web.shop import Shop
from shared.errors import AccountRefused, TagForeign

router = APIRouter(default_response_class=Response)
_Open = Annotated[None, Depends(open_to_all)]
_NO_ACCOUNT = "name and secret do not belong together; mind capital letters and try again"
_NO_BADGE = "this badge is not known, or of nobody who works at a bench"


@router.get("/sign-in")
def sign_in_page(request: Request, _: _Open, then: str = "/") -> Response:
    """Show where to sign in."""
    return page(request, "sign_in", then=within(then), refused=None)


@router.post("/sign-in")
def sign_in(
    request: Request, _: _Open, name: Line = "", secret: Secret = "", badge: Code = "", then: Line = "/"
) -> Response:
    """Sign in by name and secret, or by badge at a bench."""
    shop = shop_of(request)
    keys = [f"from {request.client.host if request.client else '?'}"]
    if not badge:
        keys.append(f"as {name.strip().lower()}")
    wait_s = shop.attempts.wait_s(*keys, now=shop.now())
    if wait_s > 0:
        refused = f"too many wrong attempts; try again in {wait_s:.0f} s"
        return page(request, "sign_in", then=within(then), refused=refused, status=429)
    before = signed_in(request)
    with shop.database.writing() as session:
        account = _by_badge(session, badge) if badge else by_secret(session, name, secret)
        if account is None:
            shop.attempts.failed(*keys, now=shop.now())
            refused = _NO_BADGE if badge else _NO_ACCOUNT
            return page(request, "sign_in", then=within(then), refused=refused, status=401)
        shop.attempts.succeeded(*keys)
        if before is not None:
            web_sessions.end_by_badge(session, before)
        token = web_sessions.begin(session, account, shop.now(), means="badge" if badge else "secret")
    return _with_cookie(shop, RedirectResponse(within(then), 303), token)


def _by_badge(session: Session, code: str) -> Account | None:
    """Return whose badge was held up or typed by a reader, if he works at benches, or None."""
    try:
        tag = read_tag(code)
    except TagForeign:
        return None
    account = by_badge(session, tag.fields.get("t", "")) if tag.kind == "badge" else None
    return account if account is not None and "work" in rights_of(account.roles) else None


@router.post("/sign-out")
def sign_out(request: Request, _who: Anybody) -> Response:
    """Sign this browser out."""
    with shop_of(request).database.writing() as session:
        web_sessions.end(session, request.cookies.get(COOKIE, ""))
    answer = RedirectResponse("/sign-in", 303)
    answer.delete_cookie(COOKIE)
    return answer


@router.get("/set-up/{token}")
def set_up_page(request: Request, token: str, _: _Open) -> Response:
    """Show where the first admin makes his account."""
    _check_set_up(shop_of(request), token)
    return page(request, "set_up", token=token, refused=None)


@router.post("/set-up/{token}")
def set_up(request: Request, token: str, _: _Open, name: Line, shown_name: Line, secret: Secret) -> Response:
    """Make the first admin's account and sign him in."""
    shop = shop_of(request)
    _check_set_up(shop, token)
    try:
        with shop.database.writing() as session:
            if not is_first_run(session):
                raise HTTPException(404)
            account: Account = make_account(
                session, name=name, shown_name=shown_name, roles=["admin"], secret=secret, now=shop.now()
            )
            cookie = web_sessions.begin(session, account, shop.now())
    except AccountRefused as exc:
        return page(request, "set_up", token=token, refused=str(exc), status=422)
    return _with_cookie(shop, RedirectResponse("/accounts", 303), cookie)


@router.get("/")
def home(request: Request, _: _Open) -> Response:
    """Show what whoever is signed in can do here."""
    who = signed_in(request)
    if who is None:
        return RedirectResponse("/sign-in", 303)
    return page(request, "home", who=who)


def _check_set_up(shop: Shop, token: str) -> None:
    with shop.database.reading() as session:
        first = is_first_run(session)
    if not first or not compare_digest(token.encode(), shop.set_up_token.encode()):
        raise HTTPException(404, "this link is not good, or no longer; the console shows the present one")


def _with_cookie(shop: Shop, answer: Response, token: str) -> Response:
    answer.set_cookie(
        COOKIE, token, max_age=round(web_sessions.LASTS.total_seconds()), httponly=True,
        secure=shop.tls is not None, samesite="lax",
    )  # fmt: skip
    return answer
