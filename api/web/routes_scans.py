"""What is held up or pressed at a bench besides talk: badges, gauges, new parts, hold points."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, Response
from sqlalchemy.orm import Session

from api.live.bench_facts import facts_of
from api.live.bench_scans import Bench, held_up, keep_lot, pass_hold, use_gauge
from api.live.facts_shown import facts_shown
from api.people.notice import present_notice
from api.store.accounts import account_of
from api.store.gauges import gauge_of
from api.store.job_events import chain_of
from api.store.jobs import job_of
from api.store.sheets import sheet_from
from api.store.web_sessions import SignedIn
from api.tags.tag_text import read_tag
from api.web.forms import Code, Line
from api.web.guard import Worker, shop_of
from api.web.routes_bench import desk_of
from shared.errors import AccountRefused, OutOfTurn

router = APIRouter(default_response_class=Response)


@router.get("/bench/{job_id}/facts")
def facts(request: Request, _who: Worker, job_id: str) -> Response:
    """Return what the bench shows besides talk."""
    with shop_of(request).database.reading() as session:
        return _told(session, job_id, "")


@router.post("/bench/{job_id}/scans")
def scan(request: Request, who: Worker, job_id: str, code: Code, step: Line = "") -> Response:
    """Do what a tag held up at the bench means; ``step`` is the hold point that the screen shows."""
    shop, tag = shop_of(request), read_tag(code)
    key = f"from {request.client.host if request.client else '?'}"
    wait_s = shop.attempts.wait_s(key, now=shop.now())
    if tag.kind == "badge" and wait_s > 0:
        raise OutOfTurn("too many wrong badges", remedy=f"try again in {wait_s:.0f} s")
    try:
        with shop.database.writing() as session:
            bench = _bench(request, session, job_id, who)
            return _told(session, job_id, held_up(session, bench, tag, step=step or None))
    except AccountRefused:
        shop.attempts.failed(key, now=shop.now())
        raise


@router.post("/bench/{job_id}/gauges")
def take_gauge(request: Request, who: Worker, job_id: str, gauge: Line) -> Response:
    """Take a gauge into use whose id was typed or chosen."""
    with shop_of(request).database.writing() as session:
        bench = _bench(request, session, job_id, who)
        return _told(session, job_id, use_gauge(session, bench, gauge_of(session, gauge)))


@router.post("/bench/{job_id}/new-parts")
def new_part(request: Request, who: Worker, job_id: str, part: Line, what: Line, code: Line) -> Response:
    """Keep the lot or serial number of a new part, typed or read off its bag."""
    with shop_of(request).database.writing() as session:
        bench = _bench(request, session, job_id, who)
        return _told(session, job_id, keep_lot(session, bench, part, what, code))


@router.post("/bench/{job_id}/go-on")
def go_on(request: Request, who: Worker, job_id: str, step: Line) -> Response:
    """Go on without the witness that a step waits for."""
    with shop_of(request).database.writing() as session:
        bench = _bench(request, session, job_id, who)
        return _told(session, job_id, pass_hold(session, bench, step))


def _bench(request: Request, session: Session, job_id: str, who: SignedIn) -> Bench:
    shop = shop_of(request)
    return Bench(
        job=job_of(session, job_id),
        by=account_of(session, who.account.id),
        place=desk_of(request).place_of(job_id),
        now=shop.now(),
        notice_sha256=present_notice(shop.folder, shop.settings).sha256,
    )


def _told(session: Session, job_id: str, did: str) -> Response:
    job = job_of(session, job_id)
    shown = facts_shown(facts_of(chain_of(session, job_id)), sheet_from(job.sheet))
    return JSONResponse({"did": did, **shown.model_dump()})
