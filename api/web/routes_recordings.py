"""A person's recordings: seen and copied by himself, exported and erased by whoever keeps the accounts."""

from __future__ import annotations

from datetime import datetime

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response, StreamingResponse

from api.people.own_recordings import about, ask_erasure, export_pieces, note_export, recordings_by
from api.store.accounts import account_of
from api.store.web_sessions import SignedIn
from api.web.forms import RowNumber
from api.web.guard import Admin, Owner, shop_of
from api.web.pages import page

router = APIRouter(default_response_class=Response)


@router.get("/own-recordings")
def own_recordings(request: Request, who: Owner) -> Response:
    """Show somebody what he recorded."""
    return _shown(request, who, who.account.id, "/own-recordings")


@router.post("/own-recordings/export")
def export_own(request: Request, who: Owner) -> Response:
    """Return somebody's own recordings as a ZIP file."""
    return _exported(request, who, who.account.id)


@router.get("/accounts/{account_id}/recordings")
def recordings_page(request: Request, who: Admin, account_id: RowNumber) -> Response:
    """Show what a person recorded, and what can be done with it."""
    return _shown(request, who, account_id, f"/accounts/{account_id}/recordings")


@router.post("/accounts/{account_id}/recordings/export")
def export(request: Request, who: Admin, account_id: RowNumber) -> Response:
    """Return a person's recordings as a ZIP file; the chain of each job tells it."""
    return _exported(request, who, account_id)


@router.post("/accounts/{account_id}/recordings/erase")
def erase(request: Request, who: Admin, account_id: RowNumber) -> Response:
    """Erase the sound of what a person recorded; of jobs that are not signed yet once they are."""
    shop = shop_of(request)
    with shop.database.writing() as session:
        by = account_of(session, who.account.id)
        ask_erasure(session, account_of(session, account_id), by=by, now=shop.now())
    request.app.state.keeper.look(account_id)
    return RedirectResponse(f"/accounts/{account_id}/recordings", 303)


def _shown(request: Request, who: SignedIn, account_id: int, here: str) -> Response:
    shop = shop_of(request)
    with shop.database.reading() as session:
        account = account_of(session, account_id)
        held = recordings_by(session, shop.folder, account_id)
    return page(request, "recordings", who=who, account=account, held=held, here=here)


def _exported(request: Request, who: SignedIn, account_id: int) -> Response:
    shop = shop_of(request)
    with shop.database.writing() as session:
        account = account_of(session, account_id)
        held = recordings_by(session, shop.folder, account_id)
        note_export(session, account, held, by=account_of(session, who.account.id), now=shop.now())
        told = about(session, account, held)
    name = f"recordings-{account.name}-{_day(shop.now())}.zip"
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    pieces = export_pieces(shop.folder, told, held)
    return StreamingResponse(pieces, media_type="application/zip", headers=headers)


def _day(now: datetime) -> str:
    return f"{now:%Y-%m-%d}"
