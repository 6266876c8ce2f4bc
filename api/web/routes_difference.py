"""A record read again by the present rules, beside the one under review; taken over entry by entry."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response

from api.live.redrafting import draft_again
from api.office.newer_sheet import by_sheet_of, newer_sheet_of, take_sheet
from api.office.taking_over import beside, take_over
from api.store.accounts import account_of
from api.store.jobs import job_of
from api.web.forms import Line
from api.web.guard import Reviewer, shop_of
from api.web.pages import page
from shared.errors import DecisionRefused

router = APIRouter(default_response_class=Response)
_Newer = Annotated[bool, Form()]
_Number = Annotated[int, Form(ge=0, le=2**31 - 1)]


@router.post("/office/{job_id}/again")
def again(request: Request, who: Reviewer, job_id: str, by_newer: _Newer = False) -> Response:
    """Read what was kept of a job again, by its sheet or the newer one; what was decided stays as it is."""
    shop, sheet = shop_of(request), None
    if by_newer:
        with shop.database.reading() as session:
            sheet = newer_sheet_of(session, shop.folder, job_of(session, job_id))
        if sheet is None:
            raise DecisionRefused(
                "the sheet has not changed since the job began", remedy="read it again by that"
            )
    photos = request.app.state.desk.pictures.photos(job_id)
    draft_again(shop, job_id, photos, who.account, sheet)
    return RedirectResponse(f"/office/{job_id}/difference" if by_newer else f"/office/{job_id}", 303)


@router.post("/office/{job_id}/sheet")
def go_by_sheet(request: Request, who: Reviewer, job_id: str, newer: _Number, seen: _Number) -> Response:
    """Have the record go by the sheet that its newest draft was read by."""
    shop = shop_of(request)
    with shop.database.writing() as session:
        by = account_of(session, who.account.id)
        take_sheet(session, job_id, newer=newer, seen=seen, by=by, now=shop.now())
    return RedirectResponse(f"/office/{job_id}", 303)


@router.get("/office/{job_id}/difference")
def difference_page(request: Request, who: Reviewer, job_id: str) -> Response:
    """Show how the newest draft differs from the one under review."""
    with shop_of(request).database.reading() as session:
        both = beside(session, job_id)
        by_sheet = by_sheet_of(session, both.it, both.newer)
        return page(
            request, "difference", who=who, it=both.it, newer=both.newer, rows=both.rows, by_sheet=by_sheet
        )


@router.post("/office/{job_id}/difference")
def take(request: Request, who: Reviewer, job_id: str, newer: _Number, seen: _Number, key: Line) -> Response:
    """Take one difference over into the record under review."""
    shop = shop_of(request)
    with shop.database.writing() as session:
        by = account_of(session, who.account.id)
        take_over(session, job_id, newer=newer, key=key, seen=seen, by=by, now=shop.now())
    return RedirectResponse(f"/office/{job_id}/difference", 303)
