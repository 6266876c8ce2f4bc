"""The shop's register of gauges: entered, renewed, their labels printed."""

from __future__ import annotations

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import RedirectResponse, Response

from api.store.gauges import all_gauges, gauge_of, is_expired, keep_gauge
from api.store.shop_sheets import sheets_of
from api.tags.qr_drawing import qr_svg
from api.tags.tag_text import tag_text
from api.web.forms import Line
from api.web.guard import Admin, shop_of
from api.web.pages import page
from api.web.shop import Shop

router = APIRouter(default_response_class=Response)


@router.get("/gauges")
def gauges_page(request: Request, who: Admin) -> Response:
    """Show the register."""
    shop = shop_of(request)
    with shop.database.reading() as session:
        gauges = all_gauges(session)
    today = shop.now().date()
    rows = [(one, is_expired(one, today)) for one in gauges]
    return page(request, "gauges", who=who, rows=rows, kinds=_kinds(shop_of(request)))


@router.post("/gauges")
def enter(
    request: Request, _who: Admin, gauge: Line, kind: Line, calibrated_until: Line = "", reach: Line = "",
    resolution: Line = "", uncertainty: Line = "",
) -> Response:  # fmt: skip
    """Enter a gauge, or what changed of it."""
    if kind not in _kinds(shop_of(request)):
        raise HTTPException(422, f"no job sheet names a gauge of kind {kind!r}")
    shop = shop_of(request)
    with shop.database.writing() as session:
        keep_gauge(
            session, gauge_id=gauge, kind=kind, calibrated_until=calibrated_until.strip() or None,
            now=shop.now(), reach=reach.strip() or None, resolution=resolution.strip() or None,
            uncertainty=uncertainty.strip() or None,
        )  # fmt: skip
    return RedirectResponse("/gauges", 303)


@router.post("/gauges/out-of-use")
def out_of_use(request: Request, _who: Admin, gauge: Line) -> Response:
    """Take a gauge out of use; what it read stays what it read."""
    shop = shop_of(request)
    with shop.database.writing() as session:
        gauge_of(session, gauge).closed_at = shop.now()
    return RedirectResponse("/gauges", 303)


@router.get("/gauges/label")
def label(request: Request, who: Admin, gauge: str) -> Response:
    """Show a gauge's label, to be printed."""
    with shop_of(request).database.reading() as session:
        found = gauge_of(session, gauge)
    text = tag_text("gauge", id=found.id)
    return page(request, "gauge_label", who=who, gauge=found, code=qr_svg(text), text=text)


def _kinds(shop: Shop) -> list[str]:
    """Return the kinds of gauge that job sheets name."""
    sheets = sheets_of(shop.folder).sheets.values()
    return sorted({item.gauge for sheet in sheets for item in sheet.measured.values() if item.gauge})
