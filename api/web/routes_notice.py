"""The notice on recording, and what whoever is signed in answers to it."""

from __future__ import annotations

from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from starlette.requests import HTTPConnection

from api.people.notice import Notice, present_notice
from api.store.accounts import account_of
from api.store.consents import answer_of, keep_answer
from api.store.web_sessions import SignedIn
from api.web.forms import Line
from api.web.guard import Anybody, shop_of
from api.web.pages import page, within
from shared.errors import OutOfTurn

router = APIRouter(default_response_class=Response)


def notice_first(request: Request, who: SignedIn) -> Response | None:
    """Return the way to the notice for somebody who has not answered it yet, else None."""
    shop, notice = shop_of(request), _notice(request)
    with shop.database.reading() as session:
        answered = answer_of(session, who.account.id, notice.sha256) is not None
    if answered:
        return None
    wanted = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    return RedirectResponse(f"/notice?then={quote(wanted)}", 303)


@router.get("/notice")
def notice_page(request: Request, who: Anybody, then: str = "/") -> Response:
    """Show the notice and the answer to it."""
    notice = _notice(request)
    with shop_of(request).database.reading() as session:
        answer = answer_of(session, who.account.id, notice.sha256)
    return page(request, "notice", who=who, notice=notice, answer=answer, then=within(then))


@router.post("/notice")
def answer_notice(request: Request, who: Anybody, notice: Line, answer: Line, then: Line = "/") -> Response:
    """Keep an answer; who takes his consent back is not listened to any more."""
    shop, present = shop_of(request), _notice(request)
    if notice != present.sha256:
        raise OutOfTurn("the notice changed meanwhile", remedy="load the page again and read it")
    if answer not in ("agree", "decline"):
        raise OutOfTurn(f"the answer {answer!r}", expected="agree or decline")
    agreed = answer == "agree"
    with shop.database.writing() as session:
        keep_answer(
            session, account_of(session, who.account.id), notice=present.text, agreed=agreed, now=shop.now()
        )
    if not agreed:
        request.app.state.desk.end_of(who.account.id)
    return RedirectResponse(within(then), 303)


def _notice(connection: HTTPConnection) -> Notice:
    shop = shop_of(connection)
    return present_notice(shop.folder, shop.settings)
