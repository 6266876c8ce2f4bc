"""The pages of history and stores, as whoever may see them sees them."""

from __future__ import annotations

from collections.abc import Callable

from fastapi.testclient import TestClient
from sqlalchemy import select

from api.store.job_tags import keep_tag
from api.store.tables import Account
from api.web.shop import Shop
from tests.api.history.filed import SHEET_ID, Archive, condition, part, reading
from tests.api.store.test_shop_sheets import own_sheet

AsRole = Callable[[str], TestClient]


def file_some(shop: Shop) -> None:
    with shop.database.writing() as session:
        archive = Archive(session)
        for n in range(4):
            archive.rebuild(
                "P/1 <b>", 100 * n, reading("front_clearance", 0.018 + 0.0001 * n, "1"),
                condition("rotating_face", "heat_checked"), part("seal", "renewed"),
                part("lock_screws", "renewed"), running_hours=1000.0 * n,
            )  # fmt: skip


def test_history_and_stores_are_shown_to_whom_they_belong(as_role: AsRole, shop: Shop) -> None:
    file_some(shop)
    technician, stores = as_role("technician"), as_role("stores")
    assert "P/1 &lt;b&gt;" in technician.get("/pumps").text
    pump = technician.get("/pumps/P%2F1%20%3Cb%3E").text
    assert "4 rebuilds" in pump
    assert "rotating face" in pump
    assert pump.count("<svg") == 3  # time line, how long it lasts, one series
    assert technician.get(f"/pump-types/{SHEET_ID}").status_code == 200
    assert technician.get("/pumps/P-404").status_code == 404
    table = technician.get("/pump-findings.csv", params={"tag": "P/1 <b>", "iso14224": "true"})
    assert table.text.count("\r\n") == 5
    assert "2.7,Overheating,from memory" in table.text
    assert technician.get("/stores").status_code == 403
    assert stores.get("/pumps").status_code == 403

    usage = {"first": "2024-01-01", "last": "2025-01-01"}
    shown = stores.get("/stores", params=usage).text
    assert "lock screws, wash-water-end-suction, in 4 rebuilds" in shown
    form = {"sheet": SHEET_ID, "kind": "part", "name": "lock_screws", "number": "F-38"}
    assert stores.post("/stores/numbers", data=form).status_code == 303
    assert stores.post("/stores/counts", data={"number": "F-38", "on_hand": "7"}).status_code == 303
    assert "lock screws, wash-water" not in stores.get("/stores", params=usage).text
    assert (
        "F-38,part,lock_screws,wash-water-end-suction,4,12,12,7"
        in stores.get("/stores/usage.csv", params=usage).text
    )
    listed = stores.get("/stores/pick", params={"sheet": SHEET_ID, "tag": "P/1 <b>"}).text
    assert "renewed in 4 of this pump&#39;s last 4 rebuilds" in listed
    assert stores.get("/stores/pick", params={"sheet": "none"}).status_code == 422
    assert stores.get("/stores", params={"first": "soon"}).status_code == 422
    elsewhere = stores.post("/stores/numbers", data={**form, "then": "//elsewhere"})
    assert elsewhere.headers["location"] == "/"


def test_the_stores_know_the_shops_own_sheets(as_role: AsRole, shop: Shop) -> None:
    own_sheet(shop.folder, "ours", "ours", "Our own pump")
    stores = as_role("stores")
    with shop.database.writing() as session:
        by = session.scalars(select(Account).where(Account.name == "stores")).one()
        keep_tag(session, work_order="WO 7", pump_tag=None, sheet_id="ours", by=by, now=shop.now())
    shown = stores.get("/stores").text
    assert "Our own pump" in shown
    assert "Pick list WO 7" in shown
    assert stores.get("/stores/pick", params={"sheet": "ours"}).status_code == 200
    form = {"sheet": "ours", "kind": "part", "name": "seal", "number": "F-38"}
    assert stores.post("/stores/numbers", data=form).status_code == 303
    assert "F-38" in stores.get("/stores/numbers", params={"sheet": "ours"}).text


def test_the_bench_shows_the_last_time(as_role: AsRole, shop: Shop) -> None:
    file_some(shop)
    technician = as_role("technician")
    form = {"work_order": "WO 9", "sheet": SHEET_ID, "pump_tag": "P/1 <b>"}
    there = technician.post("/bench/jobs", data=form).headers["location"]
    shown = technician.get(there).text
    assert "Last time: 2024-10-27, 1 found" in shown
    assert "hours not entered" in shown
    assert technician.post(f"{there}/hours", data={"running_hours": "4120"}).status_code == 303
    assert "4120 h" in technician.get(there).text
