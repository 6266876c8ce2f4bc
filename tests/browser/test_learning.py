"""What a trainer and a storekeeper look at, in a real browser: fit for all, at a desk and on a phone."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from api.invented.filed_past import make_invented_shop
from api.invented.past import Past
from api.lessons.lesson_book import ChosenClip, add_clip, make_lesson
from api.lessons.speakers import lesson_notice
from api.store.accounts import make_account
from api.store.consents import keep_answer
from api.web.serving import open_shop
from shared.settings import Settings
from tests.api.web.taught_job import FIRST_S, LONG_S, SAID, STEP_S, taught_job
from tests.browser.accessibility import serious_faults
from tests.browser.conftest import PHONE, SECRET, Server, start_server
from tests.browser.shop_people import complaints_of, sign_in
from tests.conftest import need_program

DESK = {"width": 1280, "height": 900}
_SHEET = "wash-water-end-suction"
PAGES = {
    "lessons": f"/lessons?sheet={_SHEET}",
    "lesson-figure": f"/lessons/figure?sheet={_SHEET}&kind=limit&key=front_clearance%401",
    "lesson-book": "/lesson-book",
    "lesson": "/lesson-book/1",
    "heard-in-lessons": "/heard-in-lessons",
    "search": "/search?q=vane",
    "search-empty": "/search",
    "pumps": "/pumps",
    "pump": "/pumps/P-104",
    "pump-type": f"/pump-types/{_SHEET}",
    "stores": "/stores",
    "pick-list": f"/stores/pick?sheet={_SHEET}&tag=P-104",
    "stock-numbers": f"/stores/numbers?sheet={_SHEET}",
}


@pytest.fixture
def taught(tmp_path: Path) -> Iterator[Server]:
    """A server of a shop with a past, and one job whose sound is kept and whose technician agreed."""
    need_program("chromium")
    folder = tmp_path / "shop"
    make_invented_shop(folder, Past(60, 7))
    shop = open_shop(Settings(), folder)
    with shop.database.writing() as session:
        rights = {
            "keeper": ["admin"],
            "fitter": ["technician"],
            "learner": ["trainer", "stores", "technician"],
        }
        people = [
            make_account(
                session, name=name, shown_name=name.title(), roles=roles, secret=SECRET, now=shop.now()
            )
            for name, roles in rights.items()
        ]  # fmt: skip
        keep_answer(session, people[1], notice=lesson_notice(), agreed=True, now=shop.now())
    job = taught_job(shop, people[1])
    with shop.database.writing() as session:
        lesson = make_lesson(session, "Clearance", by=people[2], now=shop.now())
        for number in (0, 1):
            start = FIRST_S + STEP_S * number
            chosen = ChosenClip(job, "001", start, start + LONG_S, good=bool(number))
            add_clip(session, lesson, chosen, by=people[2], now=shop.now())
    shop.database.close()
    started = start_server(folder, first=False)
    yield started
    started.kill()
    assert started.process.stdout is not None
    started.process.stdout.close()


@pytest.mark.long
def test_whoever_learns_and_whoever_keeps_the_stores_find_pages_fit_for_everybody(
    taught: Server, open_browser: Callable[..., Browser], screen: Callable[..., Path]
) -> None:
    faults: list[str] = []
    page = open_browser().new_page(viewport=DESK)
    complaints_of(page, faults)
    sign_in(page, taught.address, "learner")
    for name, path in PAGES.items():
        page.set_viewport_size(DESK)
        answer = page.goto(f"{taught.address}{path}")
        assert answer is not None
        assert answer.status == 200, path
        screen(page, f"learning-{name}")
        faults += serious_faults(page)
        page.set_viewport_size(PHONE)
        screen(page, f"learning-{name}-phone")
        if (width := page.evaluate("document.documentElement.scrollWidth")) > PHONE["width"]:
            faults.append(f"{path}: {width} pixels wide on a phone")
    page.set_viewport_size(DESK)
    _hear_hits(page, taught.address)
    _hear_lesson(page, taught.address, screen)
    assert faults == []


def _hear_hits(page: Page, address: str) -> None:
    """The sound of the one who agreed is played by its key; the invented past has none."""
    page.goto(f"{address}/search?q=vane+two+eighteen")
    hit = page.locator(".hits > li:has(.play)").first
    hit.focus()
    page.keyboard.press("p")
    page.wait_for_function("() => document.getElementById('player').currentTime > 0.2")


def _hear_lesson(page: Page, address: str, screen: Callable[..., Path]) -> None:
    """The words stand under the sound while they are heard, and the next ones after them."""
    page.goto(f"{address}/lesson-book/1")
    page.evaluate("document.getElementById('lesson-sound').play()")
    caption = page.locator("#caption")
    expect(caption).to_have_text(SAID[0], timeout=60_000)
    screen(page, "learning-captions")
    expect(caption).to_have_text(SAID[1], timeout=60_000)
