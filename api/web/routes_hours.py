"""The hours on a pump's meter, entered at the bench or in the office."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from api.store.hour_meter import hours_from, keep_running_hours
from api.store.jobs import job_of
from api.store.web_sessions import SignedIn
from api.web.forms import Line
from api.web.guard import Reviewer, Worker, shop_of

router = APIRouter(default_response_class=Response)


@router.post("/bench/{job_id}/hours")
def at_the_bench(request: Request, who: Worker, job_id: str, running_hours: Line = "") -> Response:
    """Keep what the meter shows of the pump on the bench."""
    _keep(request, who, job_id, running_hours)
    return RedirectResponse(f"/bench/{job_id}", 303)


@router.post("/office/{job_id}/hours")
def in_the_office(request: Request, who: Reviewer, job_id: str, running_hours: Line = "") -> Response:
    """Keep what the meter showed; empty takes back what was entered."""
    _keep(request, who, job_id, running_hours)
    return RedirectResponse(f"/office/{job_id}", 303)


def _keep(request: Request, who: SignedIn, job_id: str, running_hours: str) -> None:
    shop, hours = shop_of(request), hours_from(running_hours)
    with shop.database.writing() as session:
        keep_running_hours(session, job_of(session, job_id), hours, by=who.account, now=shop.now())
