"""Signing off, signed revisions, and a new revision of a signed record."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import PlainTextResponse, RedirectResponse, Response

from api.office.signing_off import SignOff, sign_off
from api.signing.keys import open_shop_key
from api.store.accounts import account_of
from api.store.job_events import note
from api.store.jobs import job_of, turn_to
from api.store.revisions import revision_of
from api.web.forms import Line, RowNumber, Secret, Text
from api.web.guard import Anybody, Reader, Signer, shop_of
from shared.errors import AccountRefused, DecisionRefused, OutOfTurn

router = APIRouter(default_response_class=Response)
_Seen = Annotated[int, Form()]


@router.post("/office/{job_id}/sign")
def sign(request: Request, who: Signer, job_id: str, seen: _Seen, secret: Secret, meaning: Line) -> Response:
    """Sign a record: the secret is entered again, and what it means is chosen."""
    shop = shop_of(request)
    key = f"signs {who.account.name}"
    wait_s = shop.attempts.wait_s(key, now=shop.now())
    if wait_s > 0:
        raise OutOfTurn("too many wrong attempts", remedy=f"try again in {wait_s:.0f} s")
    try:
        with shop.database.writing() as session:
            given = SignOff(account_of(session, who.account.id), secret, meaning, seen)
            sign_off(session, shop.folder, job_id, given, shop.now())
    except AccountRefused:
        shop.attempts.failed(key, now=shop.now())
        raise
    shop.attempts.succeeded(key)
    return RedirectResponse(f"/office/{job_id}", 303)


@router.post("/office/{job_id}/new-revision")
def new_revision(request: Request, who: Signer, job_id: str, seen: _Seen, remark: Text) -> Response:
    """Open a signed record for a new revision; the signed one stays as it is."""
    if not remark.strip():
        raise DecisionRefused("a new revision without a reason", expected="what is to be changed, and why")
    shop = shop_of(request)
    with shop.database.writing() as session:
        job = job_of(session, job_id)
        turn_to(job, "handed_over", seen=seen)
        note(session, job_id, "revision_begun", {"remark": remark.strip()}, by=who.account, now=shop.now())
    return RedirectResponse(f"/office/{job_id}", 303)


@router.get("/office/{job_id}/revisions/{number}.json")
def signed_record(request: Request, _who: Reader, job_id: str, number: RowNumber) -> Response:
    """Return a signed record's file."""
    with shop_of(request).database.reading() as session:
        found = revision_of(session, job_id, number)
    return _file(found.signed, "application/json", f"{job_id}-{number}.signed.json")


@router.get("/office/{job_id}/revisions/{number}.pdf")
def signed_document(request: Request, _who: Reader, job_id: str, number: RowNumber) -> Response:
    """Return a signed PDF."""
    with shop_of(request).database.reading() as session:
        found = revision_of(session, job_id, number)
    return _file(found.document, "application/pdf", f"{job_id}-{number}.pdf")


@router.get("/shop-key.pem")
def public_key(request: Request, _who: Anybody) -> Response:
    """Return the shop's public key, to be checked against."""
    return PlainTextResponse(open_shop_key(shop_of(request).folder).public_pem)


def _file(data: bytes, media_type: str, name: str) -> Response:
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(data, media_type=media_type, headers=headers)
