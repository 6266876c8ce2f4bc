"""The start of a pump at the bench: a tag held up, a work order said or typed; the sheet follows."""

from __future__ import annotations

import numpy as np
from fastapi import APIRouter, HTTPException, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import JSONResponse, RedirectResponse, Response
from sqlalchemy.orm import Session

from api.live.order_hearing import MOST_SAMPLES, OrderHearing
from api.store.accounts import account_of
from api.store.hour_meter import hours_from, keep_running_hours
from api.store.job_tags import Wanted, known_orders, one_line, wanted_by
from api.store.jobs import jobs_in, open_job
from api.store.shop_sheets import sheets_of
from api.store.tables import Account, BenchJob
from api.store.web_sessions import SignedIn
from api.tags.tag_text import read_tag
from api.web.forms import Code, Line
from api.web.guard import Worker, shop_of
from api.web.pages import page
from api.web.routes_notice import notice_first
from api.web.shop import Shop
from capture.sound_blocks import Samples
from shared.errors import SheetNotFound, TagForeign

router = APIRouter(default_response_class=Response)


@router.get("/bench")
def start_page(request: Request, who: Worker) -> Response:
    """Show where a pump is started or gone on with."""
    if (notice := notice_first(request, who)) is not None:
        return notice
    shop = shop_of(request)
    known = sheets_of(shop.folder)
    with shop.database.reading() as session:
        jobs = jobs_in(session, "open", "returned")
        return page(
            request, "bench_start", who=who, jobs=jobs, sheets=known.sheets.values(), wrong=known.wrong
        )


@router.post("/bench/jobs")
def start(
    request: Request, who: Worker, work_order: Line, sheet: Line = "", pump_tag: Line = "", bench: Line = "",
    running_hours: Line = "",
) -> Response:  # fmt: skip
    """Open a job, or go on with the one that is open for its work order."""
    work_order, tag = one_line(work_order), one_line(pump_tag) or None
    if not work_order:
        raise HTTPException(422, "no work order was given; expected the number on the job's tag")
    shop, hours = shop_of(request), hours_from(running_hours)
    if sheet:
        sheets_of(shop.folder).get(sheet)
    with shop.database.writing() as session:
        wanted = wanted_by(session, work_order, pump_tag=tag, sheet_id=sheet or None)
        if wanted.sheet_id is None:
            raise SheetNotFound(
                f"nothing tells yet which sheet work order {work_order} is worked by",
                expected="a sheet of the list", remedy="choose it; the pump's tag tells it from then on",
            )  # fmt: skip
        job = _begun(session, shop, wanted, who.account, bench=one_line(bench) or None)
        if hours is not None:
            keep_running_hours(session, job, hours, by=who.account, now=shop.now())
    return RedirectResponse(f"/bench/{job.id}", 303)


@router.post("/bench/scans")
def held_up(request: Request, who: Worker, code: Code) -> Response:
    """Begin or go on with the job whose tag was held to the camera."""
    tag = read_tag(code)
    if tag.kind != "job":
        raise TagForeign(f"this is the tag of a {tag.kind}", expected="the tag of a job")
    shop = shop_of(request)
    with shop.database.writing() as session:
        wanted = wanted_by(session, tag.fields["wo"], pump_tag=tag.get("tag"), sheet_id=tag.get("sheet"))
        return _answer(session, shop, wanted, who.account)


@router.post("/bench/orders/ready")
def get_ready(request: Request, _who: Worker) -> Response:
    """Begin what hears work orders: a microphone listens."""
    hearing: OrderHearing = request.app.state.orders
    hearing.get_ready()
    return JSONResponse({"hearing": True})


@router.post("/bench/orders")
async def said(request: Request, who: Worker) -> Response:
    """Begin the job whose work order was said: 16 kHz, mono, 16 bits; the sound is kept nowhere."""
    data = await request.body()
    if not 0 < len(data) <= 2 * MOST_SAMPLES or len(data) % 2:
        raise HTTPException(422, f"{len(data)} bytes of sound; expected one phrase of at most 8 s")
    return await run_in_threadpool(_begin_said, request, who, np.frombuffer(data, "<i2").astype(np.int16))


def _begin_said(request: Request, who: SignedIn, samples: Samples) -> Response:
    shop = shop_of(request)
    hearing: OrderHearing = request.app.state.orders
    with shop.database.reading() as session:
        orders = known_orders(session)
    found = hearing.understand(samples, orders)
    if found.order is None:
        return JSONResponse({"understood": found.code, "choices": list(found.choices), "go": None})
    with shop.database.writing() as session:
        return _answer(session, shop, wanted_by(session, found.order), account_of(session, who.account.id))


def _answer(session: Session, shop: Shop, wanted: Wanted, by: Account) -> Response:
    """Begin what is wanted and tell where to go, or tell that the sheet has to be chosen."""
    shown: dict[str, str | None] = {"work_order": wanted.work_order, "pump_tag": wanted.pump_tag}
    if wanted.sheet_id is None:
        return JSONResponse({**shown, "go": None, "sheet": None})
    job = _begun(session, shop, wanted, by)
    sheet = sheets_of(shop.folder).sheets.get(wanted.sheet_id)
    title = sheet.title if sheet is not None else wanted.sheet_id
    return JSONResponse({**shown, "go": f"/bench/{job.id}?listen=1", "sheet": title})


def _begun(
    session: Session, shop: Shop, wanted: Wanted, by: Account, *, bench: str | None = None
) -> BenchJob:
    if wanted.open_job is not None:
        found = session.get(BenchJob, wanted.open_job)
        assert found is not None, "read in this transaction"
        return found
    sheet = sheets_of(shop.folder).sheets.get(wanted.sheet_id or "")
    if sheet is None:
        raise SheetNotFound(f"there is no job sheet {wanted.sheet_id!r}", remedy="print the tag again here")
    return open_job(
        session, sheet, work_order=wanted.work_order, by=by, now=shop.now(),
        pump_tag=wanted.pump_tag, bench=bench,
    )  # fmt: skip
