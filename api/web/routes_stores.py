"""The stores: what was used, what will be wanted, what is on hand under which number."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, HTTPException, Query, Request
from fastapi.responses import RedirectResponse, Response
from sqlalchemy.orm import Session

from api.history.rebuilds import PumpName
from api.stocks.pick_list import kits_on_hand, pick_list, pumps_of, sheet_picks
from api.stocks.stock_csv import pick_csv, usage_csv
from api.stocks.stock_numbers import Kind, StockList, keep_count, keep_number
from api.stocks.usage import Period, quarter_before, usage
from api.stocks.waiting import shorts_of, waiting_orders
from api.store.sheets import newest_sheet
from api.store.shop_sheets import sheets_of
from api.web.forms import Line
from api.web.guard import Storekeeper, shop_of
from api.web.pages import page, within
from api.web.routes_pumps import as_csv
from shared.errors import SheetNotFound, StockRefused
from shared.job_sheet import JobSheet

router = APIRouter(default_response_class=Response)
_Asked = Annotated[str, Query(max_length=128)]


@router.get("/stores")
def stores_page(
    request: Request, who: Storekeeper, first: _Asked = "", last: _Asked = "", sheet: _Asked = ""
) -> Response:
    """Show what was used in a period, and what is short for the work orders that wait."""
    shop = shop_of(request)
    period, sheets = _period(first, last, shop.now()), sheets_of(shop.folder).sheets
    with shop.database.reading() as session:
        used = usage(session, period, sheet)
        waiting = waiting_orders(session, sheets)
        stock = StockList(session)
        kits = [(one, *kits_on_hand(sheet_picks(stock, one))) for one in sheets.values()]
    return page(
        request, "stores", who=who, period=period, sheet=sheet, it=used, waiting=waiting, kits=kits,
        shorts=shorts_of(waiting), sheet_ids=list(sheets),
    )  # fmt: skip


@router.get("/stores/usage.csv")
def usage_table(
    request: Request, _who: Storekeeper, first: _Asked = "", last: _Asked = "", sheet: _Asked = ""
) -> Response:
    """Return what was used as a table."""
    shop = shop_of(request)
    with shop.database.reading() as session:
        found = usage(session, _period(first, last, shop.now()), sheet)
    return as_csv(usage_csv(found.used), "usage")


@router.get("/stores/pick")
def pick_page(
    request: Request, who: Storekeeper, sheet: _Asked, tag: _Asked = "", work_order: _Asked = ""
) -> Response:
    """Show a pick list, to be printed."""
    with shop_of(request).database.reading() as session:
        found = _sheet(request, session, sheet)
        picks = pick_list(session, found, PumpName(tag.strip()) if tag.strip() else None)
        pumps = pumps_of(session, sheet)
    return page(
        request, "pick_list", who=who, sheet=found, picks=picks, tag=tag.strip(), work_order=work_order,
        pumps=pumps,
    )  # fmt: skip


@router.get("/stores/pick.csv")
def pick_table(request: Request, _who: Storekeeper, sheet: _Asked, tag: _Asked = "") -> Response:
    """Return a pick list as a table."""
    with shop_of(request).database.reading() as session:
        picks = pick_list(
            session, _sheet(request, session, sheet), PumpName(tag.strip()) if tag.strip() else None
        )
    return as_csv(pick_csv(picks), "pick-list")


@router.get("/stores/numbers")
def numbers_page(request: Request, who: Storekeeper, sheet: _Asked) -> Response:
    """Show the stock numbers of a sheet, to be entered and counted."""
    with shop_of(request).database.reading() as session:
        found, stock = _sheet(request, session, sheet), StockList(session)
        kinds: list[tuple[Kind, str]] = [("part", one.part) for one in found.parts]
        kinds += [("consumable", one.name) for one in found.consumables]
        rows = [(kind, name, stock.kept(found, sheet, kind, name)) for kind, name in kinds]
    return page(request, "stock_numbers", who=who, sheet=found, rows=rows)


@router.post("/stores/numbers")
def enter_number(
    request: Request, who: Storekeeper, sheet: Line, kind: Line, name: Line, number: Line, then: Line = ""
) -> Response:
    """Keep under which number something is kept."""
    shop = shop_of(request)
    chosen: Kind | None = "part" if kind == "part" else "consumable" if kind == "consumable" else None
    if chosen is None or not 0 < len(name.strip()) <= 128:
        raise StockRefused(f"nothing is kept as a {kind!r}", expected="a part or a consumable, by its name")
    with shop.database.writing() as session:
        _sheet(request, session, sheet)
        keep_number(
            session, sheet_id=sheet, kind=chosen, name=name.strip(), number=number, by=who.account,
            now=shop.now(),
        )  # fmt: skip
    return RedirectResponse(within(then) if then else "/stores", 303)


@router.post("/stores/counts")
def enter_count(
    request: Request, who: Storekeeper, number: Line, on_hand: Line = "", then: Line = ""
) -> Response:
    """Keep how many there are of a stock number."""
    shop = shop_of(request)
    with shop.database.writing() as session:
        keep_count(session, number, on_hand, by=who.account, now=shop.now())
    return RedirectResponse(within(then) if then else "/stores", 303)


def _period(first: str, last: str, now: datetime) -> Period:
    usual = quarter_before(now)
    return Period(_day(first) or usual.first, _day(last) or usual.last)


def _day(text: str) -> datetime | None:
    if not text:
        return None
    try:
        day = datetime.strptime(text, "%Y-%m-%d").replace(tzinfo=UTC)
    except ValueError as exc:
        raise HTTPException(422, f"{text!r} is no day; expected one like 2026-03-04") from exc
    if not 1970 <= day.year < 3000:
        raise HTTPException(422, f"{text!r} is no day that a shop worked on; expected 1970 to 2999")
    return day


def _sheet(request: Request, session: Session, sheet_id: str) -> JobSheet:
    found = sheets_of(shop_of(request).folder).sheets.get(sheet_id) or newest_sheet(session, sheet_id)
    if found is None:
        raise SheetNotFound(f"there is no job sheet {sheet_id!r}", expected="one of the list")
    return found
