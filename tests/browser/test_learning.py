"""What a trainer and a storekeeper look at, in a real browser: fit for all, at a desk and on a phone."""

from __future__ import annotations

import re
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
from tests.api.web.pictured_job import Press, pictured_job
from tests.api.web.taught_job import FIRST_S, LONG_S, SAID, STEP_S, taught_job
from tests.browser.accessibility import serious_faults
from tests.browser.conftest import FULL_HD, PHONE, SECRET, Server, start_server
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
    "search-pictures": "/search?q=carbon",
    "search-all-pictures": "/search?pump_tag=P-900&show=pictures",
    "pump-faces": "/pumps/P-900",
    "pumps": "/pumps",
    "pump": "/pumps/P-104",
    "pump-type": f"/pump-types/{_SHEET}",
    "stores": "/stores",
    "pick-list": f"/stores/pick?sheet={_SHEET}&tag=P-104",
    "stock-numbers": f"/stores/numbers?sheet={_SHEET}",
}


_FIXTURES = Path(__file__).parents[2] / "fixtures"
FACES = [(_FIXTURES / "faces" / f"{name}.jpg").read_bytes() for name in ("0001", "0003", "0005")]
IMPELLER = (_FIXTURES / "pictures" / "impeller_sharp.jpg").read_bytes()


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
    taught_job(shop, people[1], "WO 13", "2026-03-05")
    for number, found in enumerate(("heat checked", "chipped", "scored")):
        face, wheel = FACES[number], IMPELLER
        presses: list[Press] = [("rotating_face", "as_found", face), ("impeller", "as_found", wheel)]
        pictured_job(
            shop, people[1], presses[: 1 if number == 1 else 2], days=60 * number, pump_tag="P-900",
            work_order=f"WO 3{number}", said=f"the carbon is {found}",
        )  # fmt: skip
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
    _hear_all_in_a_row(page, taught.address, screen)
    _see_pictures(page, taught.address, screen)
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


def _hear_all_in_a_row(page: Page, address: str, screen: Callable[..., Path]) -> None:
    """One press plays every clip of a figure that may be heard, one after the other, to its end."""
    page.goto(f"{address}{PAGES['lesson-figure']}")
    sounds = [one.get_attribute("data-sound") for one in page.locator(".clip[data-sound]").all()]
    assert len(sounds) > 1
    page.evaluate(
        """() => {
          window.heard = [];
          const player = document.getElementById("player");
          const at = () => player.getAttribute("src");
          player.addEventListener("playing", () => heard.push(["begun", at()]));
          // On its way down, before the page itself goes on to the next.
          document.addEventListener("ended", () => heard.push(["ended", at(), player.currentTime]), true);
        }"""
    )
    page.get_by_role("button", name="Play all in a row").click()
    told = page.locator("#playing")
    expect(told).to_have_text(f"2 of {len(sounds)}", timeout=60_000)
    expect(page.locator(".clip.now")).to_have_count(1)
    screen(page, "learning-played-in-a-row")
    expect(told).to_have_text("That was all.", timeout=60_000)
    heard = page.evaluate("heard")
    assert [one[:2] for one in heard] == [[told, sound] for sound in sounds for told in ("begun", "ended")]
    # Each to its end: as long as what was said, with its beginning and end.
    assert all(one[2] > LONG_S for one in heard if one[0] == "ended")


def _see_pictures(page: Page, address: str, screen: Callable[..., Path]) -> None:
    """Pictures are seen, not only there; what was said around one is heard; it leads to its rebuild."""
    page.set_viewport_size(FULL_HD)
    page.goto(f"{address}/search?q=crazed+carbon&pump_tag=P-900")
    pictures = page.locator(".pictures img")
    expect(pictures).to_have_count(1)
    _all_seen(page, ".pictures img")
    screen(page, "learning-search-picture-1920")
    page.set_viewport_size(PHONE)
    page.reload()
    _all_seen(page, ".pictures img")
    screen(page, "learning-search-picture-phone")
    page.set_viewport_size(FULL_HD)
    page.locator(".pictures > li").first.focus()
    page.keyboard.press("p")
    page.wait_for_function("() => document.getElementById('player').currentTime > 0.2")
    page.locator(".pictures a[href*=rebuild]").click()
    expect(page).to_have_url(re.compile(r"/pumps/P-900#rebuild-\d+$"))
    faces = page.locator("ul.strip").filter(has=page.locator("img[alt^='rotating face']"))
    expect(faces.locator("img")).to_have_count(3)
    faces.scroll_into_view_if_needed()
    _all_seen(page, "ul.strip img")
    # Side by side: each to the right of the one before, none below it.
    boxes = [box for one in faces.locator("li").all() if (box := one.bounding_box())]
    assert [box["x"] for box in boxes] == sorted({box["x"] for box in boxes})
    assert len({round(box["y"]) for box in boxes}) == 1
    screen(page, "learning-faces-1920")


def _all_seen(page: Page, which: str) -> None:
    """Wait until every picture that is chosen is loaded; one that cannot be never is."""
    for one in page.locator(which).all():
        one.scroll_into_view_if_needed()
    page.wait_for_function(
        "which => [...document.querySelectorAll(which)].every(one => one.complete && one.naturalWidth > 40)",
        arg=which,
    )
