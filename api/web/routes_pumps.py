"""The history of pumps and of their types."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response
from sqlalchemy.orm import Session

from api.archive.remembered import remembered
from api.history.findings_csv import findings_csv
from api.history.pump_page import pump_page, type_page
from api.history.rebuilds import MOST_PUMPS, PumpName, Rebuild, pumps, rebuilds_of, rebuilds_of_type, types
from api.history.type_past import MOST_OF_TYPE
from api.store.sheets import newest_sheet
from api.web.guard import Reader, shop_of
from api.web.pages import page
from shared.job_sheet import JobSheet

router = APIRouter(default_response_class=Response)
_Asked = Annotated[str, Query(max_length=128)]


@router.get("/pumps")
def pumps_page(request: Request, who: Reader, like: _Asked = "") -> Response:
    """Show the pumps that were rebuilt, the newest first."""
    with shop_of(request).database.reading() as session:
        part = like.strip()
        # All of them are gone through to say which were rebuilt last; what somebody looks for is asked anew.
        rows, count = (
            pumps(session, part) if part else remembered(session, ("pumps",), lambda: pumps(session))
        )
        counted = remembered(session, ("types",), lambda: types(session))
        kinds = [(sheet_id, newest_sheet(session, sheet_id), many) for sheet_id, many in counted]
    return page(request, "pumps", who=who, rows=rows, count=count, like=like, most=MOST_PUMPS, kinds=kinds)


@router.get("/pump-findings.csv")
def findings(
    request: Request, _who: Reader, tag: _Asked = "", serial: _Asked = "", sheet: _Asked = "",
    iso14224: bool = False,
) -> Response:  # fmt: skip
    """Return what was found, of a pump or of a whole type, as a table."""
    with shop_of(request).database.reading() as session:
        rebuilds: list[Rebuild] = []
        if tag or serial:
            rebuilds = list(rebuilds_of(session, PumpName(tag or None, None if tag else serial)))
        elif sheet:
            rebuilds = rebuilds_of_type(session, sheet, MOST_OF_TYPE)
        text = findings_csv(session, rebuilds, _sheets(session, rebuilds), iso=iso14224)
    return as_csv(text, "findings")


@router.get("/pump-types/{sheet_id}")
def of_type(request: Request, who: Reader, sheet_id: str) -> Response:
    """Show the history of a type of pump."""
    shop = shop_of(request)
    with shop.database.reading() as session:
        it = type_page(session, sheet_id, shop.now())
    return page(request, "pump_type", who=who, it=it)


@router.get("/pumps/{tag:path}")
def of_pump(request: Request, who: Reader, tag: str) -> Response:
    """Show the history of a pump by its tag."""
    return _pump(request, who, PumpName(tag))


@router.get("/pump-serials/{serial:path}")
def of_serial(request: Request, who: Reader, serial: str) -> Response:
    """Show the history of a pump that has no tag."""
    return _pump(request, who, PumpName(None, serial))


def as_csv(text: str, name: str) -> Response:
    """Return a table as a file that a spreadsheet opens; it begins with a mark, for accents."""
    headers = {"content-disposition": f'attachment; filename="{name}.csv"'}
    return Response("\ufeff" + text, media_type="text/csv; charset=utf-8", headers=headers)


def _pump(request: Request, who: Reader, name: PumpName) -> Response:
    shop = shop_of(request)
    with shop.database.reading() as session:
        it = pump_page(session, shop.folder, name, shop.now())
    return page(request, "pump", who=who, it=it)


def _sheets(session: Session, rebuilds: list[Rebuild]) -> dict[str, JobSheet]:
    found = {one: newest_sheet(session, one) for one in {each.sheet_id for each in rebuilds}}
    return {sheet_id: sheet for sheet_id, sheet in found.items() if sheet is not None}
