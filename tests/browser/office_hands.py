"""What a reviewer does in the office's pages: plays and corrects, decides, signs, checks what was signed."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from playwright.sync_api import Page, expect

from tests.browser.conftest import SECRET


def play_and_correct(page: Page, what: str, value: str) -> None:
    """By keyboard: hear an entry's second of sound, give it another value.

    Args:
        page: a job's review.
        what: the entry, as its row names it.
        value: in its unit.
    """
    # By what the row is of: the fields of a correction name every item of the sheet.
    row = page.locator(f"ol.rows > .row:has(.what:has-text('{what}'))").first
    row.focus()
    page.keyboard.press("p")
    page.wait_for_function("() => document.getElementById('player').currentTime > 0.2")
    page.keyboard.press("c")
    page.keyboard.press("Control+a")
    page.keyboard.type(value)
    page.keyboard.press("Enter")
    page.wait_for_load_state()


def decide_the_rest(page: Page) -> None:
    """By keyboard: what is doubtful is struck, each deviation gets its disposition."""
    while (doubtful := page.locator("ol.rows > .row.ask:has(.strike)")).count():
        key = doubtful.first.get_attribute("id")
        doubtful.first.focus()
        page.keyboard.press("x")
        expect(page.locator(f"#{key}.gone")).to_have_count(1)
    while (undisposed := page.locator("li.row:has(.dispose):not(:has(.decided))")).count():
        left = undisposed.count()
        undisposed.first.locator("[name=remark]").fill("agreed with the plant")
        undisposed.first.get_by_role("button", name="Keep").click()
        expect(undisposed).to_have_count(left - 1)


def sign(page: Page, shown_name: str) -> None:
    page.fill("#sign [name=secret]", SECRET)
    page.get_by_role("button", name=f"Sign as {shown_name}").click()
    expect(page.get_by_text("Revision 1")).to_be_visible()


def verify(page: Page, name: str, folder: Path) -> Path:
    """Download what was signed, by its link's name; check it offline by the command."""
    with page.expect_download() as download:
        page.get_by_role("link", name=name, exact=True).click()
    path = folder / download.value.suggested_filename
    download.value.save_as(path)
    checked = subprocess.run(
        [sys.executable, "-m", "api", "verify", str(path)],
        capture_output=True, text=True, check=False, cwd=Path(__file__).parents[2],
    )  # fmt: skip
    assert checked.returncode == 0, checked.stdout + checked.stderr
    return path
