"""A bench's ear and its shifts: heard again after it gave up, a recording ended without handing over."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, RedirectResponse, Response

from api.live.ear_process import Failed
from api.store import web_sessions
from api.web.guard import Worker, shop_of
from api.web.routes_bench import desk_of, last_words
from shared.errors import OutOfTurn

router = APIRouter(default_response_class=Response)


@router.post("/bench/{job_id}/hear-again")
def hear_again(request: Request, _who: Worker, job_id: str) -> Response:
    """Have another ear hear what the last one gave up on."""
    desk = desk_of(request)
    if not desk.hear_again(job_id):
        at_work = desk.at_work(job_id)
        if at_work is None or isinstance(at_work.recording.latest, Failed):
            raise OutOfTurn("nobody listens to this job now", remedy="press Listen")
    return JSONResponse({"hearing": True})


@router.post("/bench/{job_id}/end-shift")
def end_shift(request: Request, who: Worker, job_id: str) -> Response:
    """End the recording; the job stays open, and the next shift's recording goes on with the same record."""
    last_words(desk_of(request), job_id, who)
    with shop_of(request).database.writing() as session:
        web_sessions.end_by_badge(session, who)
    return RedirectResponse("/bench", 303)
