"""Tags of jobs: what is printed, and what a camera sees of it."""

from __future__ import annotations

import threading
from typing import Annotated

from fastapi import APIRouter, Depends, HTTPException, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import JSONResponse, RedirectResponse, Response
from starlette.requests import ClientDisconnect

from api.store.job_tags import keep_tag, one_line, tags_made
from api.store.shop_sheets import sheets_of
from api.store.tables import JobTag
from api.tags.qr_drawing import qr_svg
from api.tags.tag_text import tag_text
from api.web.forms import Line
from api.web.guard import Reader, open_to_all, shop_of
from api.web.pages import page
from capture.qr_codes import read_qr_codes
from shared.errors import NotKept

router = APIRouter(default_response_class=Response)
#: Whoever is at the door may have a frame read, but one at a time: it costs a core's tenth of a second.
_ONE_AT_A_TIME = threading.Lock()
_WAIT_S = 1.0
#: A frame of a camera, packed.
_MOST_BYTES = 4 * 2**20


@router.get("/tags")
def tags_page(request: Request, who: Reader) -> Response:
    """Show where a tag is printed, and those that were."""
    shop = shop_of(request)
    known = sheets_of(shop.folder)
    with shop.database.reading() as session:
        return page(
            request, "tags", who=who, tags=tags_made(session), sheets=known.sheets.values(), wrong=known.wrong
        )


@router.post("/tags")
def make_tag(request: Request, who: Reader, work_order: Line, sheet: Line, pump_tag: Line = "") -> Response:
    """Keep what a tag says and show it, to be printed."""
    if not one_line(work_order):
        raise HTTPException(422, "no work order was given; expected the number that the tag is to bear")
    shop = shop_of(request)
    sheets_of(shop.folder).get(sheet)
    with shop.database.writing() as session:
        tag = keep_tag(
            session, work_order=work_order, pump_tag=one_line(pump_tag) or None, sheet_id=sheet,
            by=who.account, now=shop.now(),
        )  # fmt: skip
    return RedirectResponse(
        str(request.url_for("printed_tag").include_query_params(work_order=tag.work_order)), 303
    )


@router.get("/tags/printed")
def printed_tag(request: Request, who: Reader, work_order: str) -> Response:
    """Show a tag as it is printed."""
    with shop_of(request).database.reading() as session:
        tag = session.get(JobTag, one_line(work_order))
    if tag is None:
        raise NotKept(f"no tag was made for work order {work_order!r}", remedy="make one")
    text = tag_text("job", wo=tag.work_order, tag=tag.pump_tag, sheet=tag.sheet_id)
    sheet = sheets_of(shop_of(request).folder).get(tag.sheet_id)
    return page(request, "tag", who=who, tag=tag, sheet=sheet, code=qr_svg(text), text=text)


@router.post("/codes")
async def read_codes(request: Request, _: Annotated[None, Depends(open_to_all)]) -> Response:
    """Return the texts of the QR codes in a frame, for browsers that cannot read them; keep nothing."""
    try:
        frame = await request.body()
    except ClientDisconnect:  # the page went on to its job while this was under way
        return Response(status_code=400)
    if len(frame) > _MOST_BYTES:
        raise HTTPException(413, f"a frame of {len(frame)} bytes; expected at most {_MOST_BYTES}")
    return await run_in_threadpool(_read, frame)


def _read(frame: bytes) -> Response:
    if not _ONE_AT_A_TIME.acquire(timeout=_WAIT_S):
        raise HTTPException(503, "another frame is being read; send the next one")
    try:
        return JSONResponse({"codes": list(read_qr_codes(frame))})
    finally:
        _ONE_AT_A_TIME.release()
