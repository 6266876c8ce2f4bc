"""Keeping accounts: made, changed, closed; badges printed; tokens for scripts."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response

from api.store import web_sessions
from api.store.accounts import (
    account_of,
    all_accounts,
    change_pin,
    change_roles,
    change_secret,
    close_account,
    make_account,
    renew_badge,
)
from api.store.roles import ROLES
from api.tags.qr_drawing import qr_svg
from api.tags.tag_text import tag_text
from api.web.forms import Line, RowNumber, Secret
from api.web.guard import Admin, Owner, shop_of
from api.web.pages import page

router = APIRouter(default_response_class=Response)
_Roles = Annotated[list[str], Form(max_length=10)]


@router.get("/accounts")
def accounts_page(request: Request, who: Admin) -> Response:
    """Show all accounts."""
    with shop_of(request).database.reading() as session:
        return page(request, "accounts", who=who, accounts=all_accounts(session), roles=ROLES)


@router.post("/accounts")
def add_account(
    request: Request, _who: Admin, name: Line, shown_name: Line, roles: _Roles, secret: Secret = ""
) -> Response:
    """Make an account; without a secret it signs in by badge alone."""
    shop = shop_of(request)
    with shop.database.writing() as session:
        make_account(
            session, name=name, shown_name=shown_name, roles=roles, secret=secret or None, now=shop.now()
        )
    return RedirectResponse("/accounts", 303)


@router.post("/accounts/{account_id}/roles")
def set_roles(request: Request, account_id: RowNumber, _who: Admin, roles: _Roles) -> Response:
    """Give an account other roles; it is signed out everywhere."""
    with shop_of(request).database.writing() as session:
        account = account_of(session, account_id)
        change_roles(session, account, roles)
        web_sessions.end_all_of(session, account)
    return RedirectResponse("/accounts", 303)


@router.post("/accounts/{account_id}/close")
def close(request: Request, account_id: RowNumber, _who: Admin) -> Response:
    """Let nobody sign in with an account any more."""
    shop = shop_of(request)
    with shop.database.writing() as session:
        account = account_of(session, account_id)
        close_account(session, account, shop.now())
        web_sessions.end_all_of(session, account)
    return RedirectResponse("/accounts", 303)


@router.post("/accounts/{account_id}/badge")
def new_badge(request: Request, account_id: RowNumber, who: Admin) -> Response:
    """Give an account a new badge and show it once, to be printed."""
    with shop_of(request).database.writing() as session:
        account = account_of(session, account_id)
        badge = renew_badge(account)
        web_sessions.end_all_of(session, account, means="badge")
    return page(request, "badge", who=who, account=account, code=qr_svg(tag_text("badge", t=badge)))


@router.post("/own-secret")
def own_secret(request: Request, who: Owner, secret: Secret) -> Response:
    """Give oneself another secret; every browser of the account is signed out."""
    with shop_of(request).database.writing() as session:
        account = account_of(session, who.account.id)
        change_secret(account, secret)
        web_sessions.end_all_of(session, account)
    return RedirectResponse("/sign-in", 303)


@router.post("/own-pin")
def own_pin(request: Request, who: Owner, pin: Secret = "") -> Response:
    """Give oneself another PIN, for hold points, beside one's badge; an empty one takes it away."""
    with shop_of(request).database.writing() as session:
        change_pin(account_of(session, who.account.id), pin)
    return RedirectResponse("/", 303)


@router.post("/own-tokens")
def own_token(request: Request, who: Owner, purpose: Line) -> Response:
    """Make a token for a script of one's own and show it once."""
    shop = shop_of(request)
    with shop.database.writing() as session:
        account = account_of(session, who.account.id)
        token = web_sessions.make_api_token(session, account, purpose, shop.now())
    return page(request, "token", who=who, token=token, purpose=purpose)
