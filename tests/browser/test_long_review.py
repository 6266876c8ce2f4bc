"""The review of a long job: entries out of sight are laid out later, yet there for whoever looks for them."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from bench.live_shop import served_shop
from bench.review_page import SHEET, long_job
from tests.browser.accessibility import serious_faults
from tests.conftest import need_program

pytestmark = pytest.mark.long
ENTRIES = 120


@pytest.fixture(scope="module")
def office(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, str, dict[str, str]]]:
    """A shop's address, a job's path in it and the cookie of a reviewer."""
    need_program("chromium")
    folder = tmp_path_factory.mktemp("long")
    with served_shop(folder / "shop", [SHEET], roles=("technician", "reviewer", "admin")) as shop:
        long_job(folder / "shop", shop.jobs[0], ENTRIES, 0.05)
        address = f"http://127.0.0.1:{shop.port}"
        name, _, value = shop.headers["cookie"].partition("=")
        yield address, f"/office/{shop.jobs[0]}", {"name": name, "value": value, "url": address}


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    from playwright.sync_api import sync_playwright

    need_program("chromium")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        yield browser
        browser.close()


@pytest.fixture
def review(office: tuple[str, str, dict[str, str]], chromium: Browser) -> Iterator[Page]:
    address, path, cookie = office
    context = chromium.new_context(viewport={"width": 1920, "height": 1080})
    context.add_cookies([{"name": cookie["name"], "value": cookie["value"], "url": cookie["url"]}])
    page = context.new_page()
    page.goto(address + path)
    yield page
    context.close()


def in_sight(page: Page, row: str) -> bool:
    """Whether an entry is drawn inside of the window, below the sound's drawing."""
    return bool(
        page.evaluate(
            """(row) => {
              const { top, bottom } = document.querySelector(row).getBoundingClientRect();
              const wave = document.getElementById("wave").getBoundingClientRect();
              return top >= wave.bottom - 1 && bottom <= innerHeight;
            }""",
            row,
        )
    )


def rows_of(page: Page) -> list[str]:
    """Return the ids of all entries, in their order."""
    return [str(one.get_attribute("id")) for one in page.locator("ol.rows > .row").all()]


def laid_out(page: Page) -> None:
    """Wait until all entries are."""
    page.wait_for_function(
        """() => [...document.querySelectorAll("ol.rows > .row > .what")].every(
          (one) => one.checkVisibility({ contentVisibilityAuto: true }))"""
    )


def test_entries_out_of_sight_are_laid_out_after_those_in_sight(
    office: tuple[str, str, dict[str, str]], review: Page
) -> None:
    address, path, _ = office
    assert len(rows_of(review)) >= ENTRIES
    # Never idle: what is laid out now is what had to be, for the page to be used.
    review.add_init_script("window.requestIdleCallback = () => 0")
    review.goto(address + path)
    review.keyboard.press("j")
    seen = review.eval_on_selector_all(
        "ol.rows > .row > .what",
        "all => all.map((one) => one.checkVisibility({ contentVisibilityAuto: true }))",
    )
    assert seen[0]
    assert sum(seen) < ENTRIES / 2
    assert review.locator("ol.rows form").count() == 0


def test_keys_walk_through_all_of_them_and_back(review: Page) -> None:
    rows = rows_of(review)
    for at, row in enumerate(rows):
        assert review.evaluate("document.activeElement.id") == row, at
        if at % 20 == 0 or row == rows[-1]:
            review.wait_for_timeout(50)
            assert in_sight(review, f"#{row}"), at
        review.keyboard.press("j")
    review.keyboard.press("k")
    assert review.evaluate("document.activeElement.id") == rows[-2]


def test_a_search_in_the_page_finds_words_of_an_entry_far_below(review: Page) -> None:
    last = rows_of(review)[-1]
    words = review.locator(f"#{last} .what b").text_content() or ""
    review.evaluate(f"document.querySelector('#{last} .what b').textContent = 'nowhere else said'")
    assert words
    assert review.evaluate("find('nowhere else said')")
    assert review.evaluate("getSelection().anchorNode.parentElement.closest('.row').id") == last
    review.wait_for_timeout(50)
    assert in_sight(review, f"#{last} .what")


def test_a_link_leads_to_its_entry_whatever_was_looked_at_before(
    office: tuple[str, str, dict[str, str]], review: Page
) -> None:
    address, path, _ = office
    row = rows_of(review)[-10]
    review.evaluate("sessionStorage.setItem(`review-at-${location.pathname}`, '3')")
    for target in (f"{address}{path}#{row}", "about:blank", f"{address}{path}#{row}"):
        review.goto(target)
    assert review.evaluate("document.activeElement.id") == row
    review.wait_for_timeout(50)
    assert in_sight(review, f"#{row}")


def test_a_print_has_every_entry(review: Page, tmp_path: Path) -> None:
    need_program("pdftotext")
    rows = review.eval_on_selector_all("ol.rows > .row .what b", "all => all.map((one) => one.textContent)")
    review.pdf(path=tmp_path / "review.pdf")
    text = subprocess.run(
        ["pdftotext", "-layout", str(tmp_path / "review.pdf"), "-"],
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    assert text.count("read by ") == len(rows)
    assert "Accept" not in text


def test_whoever_hears_the_page_read_out_is_told_of_every_entry(review: Page) -> None:
    laid_out(review)
    session = review.context.new_cdp_session(review)
    nodes = session.send("Accessibility.getFullAXTree")["nodes"]
    buttons = [
        n for n in nodes if n.get("name", {}).get("value") == "Accept" and n["role"]["value"] == "button"
    ]
    told = [
        n for n in nodes if n["role"]["value"] == "StaticText" and n["name"]["value"].startswith("read by ")
    ]
    assert len(told) == len(rows_of(review)) >= ENTRIES
    assert len(buttons) == review.locator("ol.rows .accept").count() > 10
    assert serious_faults(review) == []


@pytest.mark.parametrize("opened", ["by key", "by press"])
def test_a_correction_is_made_when_it_is_opened(review: Page, opened: str) -> None:
    open_ = review.locator("ol.rows > .row:has(.correct[data-fields*=value_exact])")
    row = open_.last.get_attribute("id")
    told = json.loads(review.locator(f"#{row} .correct").get_attribute("data-fields") or "")
    if opened == "by key":
        review.locator(f"#{row}").focus()
        review.keyboard.press("c")
        assert review.evaluate("document.activeElement.name") == "field.value_exact"
    else:
        review.set_viewport_size({"width": 390, "height": 844})
        review.locator(f"#{row} summary").click()
    for name, value, options in told:
        field = review.locator(f"#{row} [name='field.{name}']")
        expect(field).to_have_value(value)
        assert (field.evaluate("one => one.tagName") == "SELECT") is (options is not None)
    review.locator(f"#{row} [name='field.value_exact']").fill("0.0155")
    review.locator(f"#{row} [name=remark]").fill("gauge read again")
    review.get_by_role("button", name="Keep the correction").click()
    expect(review.locator(f"#{row} .decided")).to_contain_text("corrected")
    assert review.locator(f"#{row}.gone").count() == 1


def test_an_entry_is_accepted_by_a_key(review: Page) -> None:
    review.locator("ol.rows > .row:has(.accept):not(:has(.decided))").first.focus()
    row = review.evaluate("document.activeElement.id")
    review.keyboard.press("a")
    expect(review.locator(f"#{row} .decided")).to_contain_text("accepted")
