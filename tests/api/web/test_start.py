"""A pump started without hands: tag, badge, and what a badge does not open."""

from __future__ import annotations

import re
from collections.abc import Callable

import cv2
import numpy as np
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from api.live.order_hearing import MOST_SAMPLES
from api.store.accounts import by_secret, renew_badge
from api.store.jobs import job_of, turn_to
from api.store.web_sessions import IDLE
from api.tags.tag_text import tag_text
from api.web.attempts import FREE
from api.web.guard import COOKIE
from api.web.shop import Shop
from capture.free_voices import speak
from tests.api.store.test_shop_sheets import own_sheet
from tests.api.web.conftest import SECRET, Clock, browser
from tests.capture.test_qr_codes import TEXT, frame, held_up, tag
from tests.conftest import need_program

JSON = {"accept": "application/json"}
SHEET = "wash-water-end-suction"


def badge_of(shop: Shop, name: str) -> str:
    with shop.database.writing() as session:
        account = by_secret(session, name, SECRET)
        assert account is not None
        session.add(account)
        return tag_text("badge", t=renew_badge(account))


@pytest.fixture
def at_bench(app: FastAPI, people: None, shop: Shop) -> TestClient:
    """A shared bench that a technician's badge was held up to."""
    client = browser(app)
    answer = client.post("/sign-in", data={"badge": badge_of(shop, "technician"), "then": "/bench"})
    assert answer.headers["location"] == "/bench"
    token = re.search(r'name="form_token" value="([^"]+)"', client.get("/bench").text)
    assert token
    client.headers["x-form-token"] = token[1]
    return client


def test_a_printed_tag_opens_its_job_and_goes_on_with_it(
    at_bench: TestClient, as_role: Callable[[str], TestClient], shop: Shop
) -> None:
    office = as_role("reviewer")
    made = office.post("/tags", data={"work_order": "WO 44/17", "pump_tag": "P-101", "sheet": SHEET})
    printed = office.get(made.headers["location"]).text
    code = re.search(r"WM1/job/[^<]+", printed)
    assert code
    assert "<svg" in printed
    first = at_bench.post("/bench/scans", data={"code": code[0]}, headers=JSON).json()
    assert (first["work_order"], first["pump_tag"]) == ("WO 44/17", "P-101")
    assert first["sheet"].startswith("End-suction")
    again = at_bench.post("/bench/scans", data={"code": code[0]}, headers=JSON).json()
    assert again["go"] == first["go"]
    with shop.database.reading() as session:
        assert job_of(session, first["go"].split("/")[2].partition("?")[0]).sheet.sheet_id == SHEET


def test_the_sheet_follows_from_what_the_pump_was_before(at_bench: TestClient) -> None:
    tagged = tag_text("job", wo="2", tag="P-7")
    asked = at_bench.post("/bench/scans", data={"code": tagged}, headers=JSON).json()
    assert (asked["go"], asked["sheet"]) == (None, None)
    refused = at_bench.post("/bench/jobs", data={"work_order": "2", "pump_tag": "P-7"})
    assert "which sheet" in refused.text
    at_bench.post("/bench/jobs", data={"work_order": "1", "pump_tag": "P-7", "sheet": SHEET})
    assert at_bench.post("/bench/scans", data={"code": tagged}, headers=JSON).json()["go"]
    # The keyboard does the same.
    assert at_bench.post("/bench/jobs", data={"work_order": "3", "pump_tag": "P-7"}).status_code == 303


def test_a_tag_of_another_pump_or_of_work_that_is_done_begins_nothing(
    at_bench: TestClient, shop: Shop
) -> None:
    began = at_bench.post("/bench/jobs", data={"work_order": "1", "pump_tag": "P-1", "sheet": SHEET})
    other = at_bench.post("/bench/scans", data={"code": tag_text("job", wo="1", tag="P-2")}, headers=JSON)
    assert other.status_code == 409
    assert "open for pump P-1, not for P-2" in other.json()["error"]["what"]
    with shop.database.writing() as session:
        turn_to(job_of(session, began.headers["location"].rpartition("/")[2]), "handed_over", seen=1)
    done = at_bench.post("/bench/scans", data={"code": tag_text("job", wo="1", tag="P-1")}, headers=JSON)
    assert "handed over" in done.json()["error"]["what"]


@pytest.mark.parametrize(
    ("code", "what"),
    [("https://example.org/4417", "none of this shop's"), ("WM2/job/wo=1", "version 2"),
     (tag_text("badge", t="x"), "tag of a badge"), (tag_text("job", wo="1", sheet="../x"), "no job sheet")],
)  # fmt: skip
def test_what_is_no_tag_of_a_job_is_named(at_bench: TestClient, code: str, what: str) -> None:
    answer = at_bench.post("/bench/scans", data={"code": code}, headers=JSON)
    assert answer.status_code == 422
    assert what in answer.json()["error"]["what"]


def test_frames_are_read_for_browsers_that_cannot(stranger: TestClient) -> None:
    assert stranger.post("/codes", content=frame(held_up(tag()))).json() == {"codes": [TEXT]}
    empty = bytes(cv2.imencode(".jpg", np.zeros((480, 640), np.uint8))[1])
    assert stranger.post("/codes", content=empty).json() == {"codes": []}
    assert stranger.post("/codes", content=b"x", headers=JSON).status_code == 422
    assert stranger.post("/codes", content=b"x" * (5 * 2**20), headers=JSON).status_code == 413


@pytest.mark.parametrize(
    ("method", "path"),
    [("GET", "/office"), ("GET", "/accounts"), ("GET", "/tags"), ("POST", "/own-secret"),
     ("POST", "/own-pin"), ("POST", "/own-tokens"), ("POST", "/office/1/sign"),
     ("POST", "/office/1/decisions"),
     ("GET", "/office/1/revisions/1.json")],
)  # fmt: skip
def test_a_picture_of_a_badge_opens_the_bench_and_nothing_else(
    app: FastAPI, shop: Shop, people: None, method: str, path: str
) -> None:
    with shop.database.writing() as session:
        account = by_secret(session, "reviewer", SECRET)
        assert account is not None
        session.add(account)
        account.roles = ["technician", "reviewer", "trainer", "admin"]
    thief = browser(app)
    thief.post("/sign-in", data={"badge": badge_of(shop, "reviewer")})
    token = re.search(r'name="form_token" value="([^"]+)"', thief.get("/bench").text)
    assert token
    fields = {"form_token": token[1], "secret": "another long one", "purpose": "x"}
    assert thief.request(method, path, data=fields).status_code == 403
    assert "Your account" not in thief.get("/").text


def test_a_badge_of_nobody_who_works_at_benches_signs_nobody_in(
    stranger: TestClient, people: None, shop: Shop
) -> None:
    answer = stranger.post("/sign-in", data={"badge": badge_of(shop, "reviewer")})
    assert answer.status_code == 401
    assert COOKIE not in stranger.cookies


def test_wrong_badges_make_whoever_tries_wait(stranger: TestClient, people: None, shop: Shop) -> None:
    for number in range(FREE):
        wrong = {"badge": tag_text("badge", t=f"guess{number}")}
        assert stranger.post("/sign-in", data=wrong).status_code == 401
    assert stranger.post("/sign-in", data={"badge": badge_of(shop, "technician")}).status_code == 429


def test_a_shared_bench_is_free_after_a_while_and_after_handing_over(
    at_bench: TestClient, clock: Clock, shop: Shop
) -> None:
    for _ in range(3):
        clock.pass_s(IDLE.total_seconds() - 1)
        assert at_bench.get("/bench").status_code == 200
    job = at_bench.post("/bench/jobs", data={"work_order": "1", "sheet": SHEET}).headers["location"]
    assert at_bench.post(f"{job}/hand-over").status_code == 303
    assert at_bench.get("/bench").headers["location"] == "/sign-in?then=/bench"


def test_an_idle_bench_is_signed_out(at_bench: TestClient, clock: Clock) -> None:
    clock.pass_s(IDLE.total_seconds())
    assert at_bench.get("/bench").status_code == 303


def test_the_next_badge_takes_the_bench_and_a_new_badge_voids_the_old(
    at_bench: TestClient, as_role: Callable[[str], TestClient], shop: Shop
) -> None:
    before = at_bench.cookies[COOKIE]
    badge = badge_of(shop, "technician")
    at_bench.post("/sign-in", data={"badge": badge})
    assert at_bench.cookies[COOKIE] != before
    old = TestClient(at_bench.app, cookies={COOKIE: before}, follow_redirects=False)
    assert old.get("/bench").status_code == 401
    as_role("admin").post("/accounts/1/badge")
    assert at_bench.get("/bench").headers["location"] == "/sign-in?then=/bench"


def said(words: str, voice: str = "rms") -> bytes:
    return speak(words, voice).astype("<i2").tobytes()


def test_a_work_order_that_is_said_begins_its_job(
    at_bench: TestClient, as_role: Callable[[str], TestClient]
) -> None:
    need_program("flite")
    assert at_bench.post("/bench/orders/ready").json() == {"hearing": True}
    as_role("reviewer").post("/tags", data={"work_order": "WO 44/17", "pump_tag": "P-1", "sheet": SHEET})
    begun = at_bench.post(
        "/bench/orders", content=said("work order four four one seven"), headers=JSON
    ).json()
    assert (begun["work_order"], begun["pump_tag"]) == ("WO 44/17", "P-1")
    assert begun["go"].endswith("?listen=1")
    unknown = at_bench.post("/bench/orders", content=said("work order one five zero five"), headers=JSON)
    assert unknown.json() == {"understood": "1505", "choices": [], "go": None}


@pytest.mark.parametrize("data", [b"", b"x", b"x" * (2 * MOST_SAMPLES + 2)])
def test_what_is_no_phrase_is_refused(at_bench: TestClient, data: bytes) -> None:
    assert at_bench.post("/bench/orders", content=data, headers=JSON).status_code == 422


def test_a_sheet_of_the_shops_own_goes_on_a_tag_and_begins_a_job(
    at_bench: TestClient, as_role: Callable[[str], TestClient], shop: Shop
) -> None:
    own_sheet(shop.folder, "pit-sump", "pit-sump", "Sump pump of the pit")
    office = as_role("reviewer")
    assert "Sump pump of the pit" in office.get("/tags").text
    made = office.post("/tags", data={"work_order": "WO 9", "pump_tag": "P-9", "sheet": "pit-sump"})
    code = re.search(r"WM1/job/[^<]+", office.get(made.headers["location"]).text)
    assert code
    told = at_bench.post("/bench/scans", data={"code": code[0]}, headers=JSON).json()
    assert told["sheet"] == "Sump pump of the pit"
    (shop.folder / "sheets" / "slip.yaml").write_text("id: slip\n", encoding="utf-8")
    assert "A sheet of this shop was left out" in office.get("/tags").text
