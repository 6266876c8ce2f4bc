"""What is held up or pressed at a bench besides talk: badges, gauges, new parts, hold points."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, Response
from sqlalchemy.orm import Session

from api.live.bench_facts import facts_of
from api.live.bench_scans import Bench, Given, WitnessAsked, held_up, keep_lot, pass_hold, use_gauge
from api.live.facts_shown import facts_shown
from api.people.notice import present_notice
from api.store.accounts import account_of, by_badge, known_by
from api.store.gauges import gauge_of
from api.store.job_events import chain_of
from api.store.jobs import job_of
from api.store.sheets import sheet_from
from api.store.tables import Account
from api.store.web_sessions import SignedIn
from api.tags.tag_text import Tag, read_tag
from api.web.forms import Code, Line, Secret
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
def scan(
    request: Request, who: Worker, job_id: str, code: Code, step: Line = "", word: Secret = ""
) -> Response:
    """Do what a tag held up at the bench means.

    ``step`` is the hold point that the screen shows, ``word`` the PIN or secret given beside a badge.
    Where it is missing, nothing is done and the answer names in ``asks`` whose is wanted.
    """
    shop, tag = shop_of(request), read_tag(code)
    keys = [f"from {request.client.host if request.client else '?'}"]
    bearer = _bearer(request, tag) if word else None
    if bearer is not None:
        keys += [f"as {bearer.name}", f"witness {bearer.id}"]
    wait_s = shop.attempts.wait_s(*keys, now=shop.now())
    if tag.kind == "badge" and wait_s > 0:
        what = "too many wrong PINs or secrets" if word else "too many wrong badges"
        raise OutOfTurn(what, remedy=f"try again in {wait_s:.0f} s")
    if bearer is not None:  # before it is looked at: many at once are many
        shop.attempts.failed(*keys, now=shop.now())
    try:
        # A hash slow on purpose must not hold up who writes.
        given: Given = "nothing" if not word else (bearer and known_by(bearer, word)) or "wrong"
        if given in ("pin", "secret"):
            shop.attempts.succeeded(*keys)
        with shop.database.writing() as session:
            bench = _bench(request, session, job_id, who)
            return _told(session, job_id, held_up(session, bench, tag, step=step or None, given=given))
    except WitnessAsked as asked:
        with shop.database.reading() as session:
            return _told(session, job_id, f"{asked.name}: PIN or secret", asks=asked.name)
    except AccountRefused:
        if bearer is None:
            shop.attempts.failed(*keys, now=shop.now())
        raise


def _bearer(request: Request, tag: Tag) -> Account | None:
    with shop_of(request).database.reading() as session:
        bearer = by_badge(session, tag.get("t") or "") if tag.kind == "badge" else None
        if bearer is not None:
            session.expunge(bearer)
        return bearer


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


def _told(session: Session, job_id: str, did: str, *, asks: str = "") -> Response:
    job = job_of(session, job_id)
    shown = facts_shown(facts_of(chain_of(session, job_id)), sheet_from(job.sheet))
    return JSONResponse({"did": did, "asks": asks, **shown.model_dump()})
