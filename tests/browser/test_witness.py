"""A witness at a hold point: his badge is not enough; figures on large keys, or the keyboard."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.accessibility import serious_faults
from tests.browser.conftest import FULL_HD, PHONE, SECRET, Server
from tests.browser.shop_people import complaints_of, new_badge, set_up_shop, sign_in, to_bench

pytestmark = pytest.mark.real_time

#: What the server says when a step was done; the sound that it is heard in is no matter here.
_DONE = 'document.dispatchEvent(new CustomEvent("board", { detail: { steps: ["leak_test"] } }))'
#: The least side of what is pressed in gloves, pixels.
_GLOVE = 72


@pytest.mark.long
def test_a_witness_gives_his_pin_on_large_keys_or_his_secret_at_the_keyboard(
    server: Server, open_browser: Callable[..., Browser], screen: Callable[..., Path], tmp_path: Path
) -> None:
    faults: list[str] = []
    page = open_browser().new_page(viewport=FULL_HD)
    complaints_of(page, faults)
    set_up_shop(page, server, {"fitter": ("Odd Fitter", "technician"), "rev": ("Gro Reviewer", "reviewer")})
    sign_in(page, server.address, "keeper")
    badge = new_badge(page, server.address, "rev", tmp_path / "badge.png")
    page.get_by_role("button", name="Sign out").click()
    sign_in(page, server.address, "rev")
    page.fill("[name=pin]", "402913")
    page.get_by_role("button", name="Keep the PIN").click()
    expect(page.get_by_text("You have one")).to_be_visible()
    page.get_by_role("button", name="Sign out").click()
    _at_a_hold(page, server, "5028")

    form, did = page.locator("#witness"), page.locator("#witness-did")
    _hold_up(page, badge)
    expect(page.locator("#witness-who")).to_have_text("Gro Reviewer")
    for figure in "402914":
        page.locator(f"[data-figure='{figure}']").click()
    screen(page, "witness-full")
    assert serious_faults(page) == []
    page.set_viewport_size(PHONE)
    for key in form.locator("button").all():
        box = key.bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= _GLOVE or key.text_content() not in "1234567890"
        assert 0 <= box["x"] <= PHONE["width"] - box["width"]
    form.scroll_into_view_if_needed()
    screen(page, "witness-phone")
    page.set_viewport_size(FULL_HD)
    page.get_by_role("button", name="Release").click()
    expect(did).to_contain_text("neither PIN nor secret")
    expect(page.locator("#hold")).to_be_visible()
    for figure in "4029133":
        page.locator(f"[data-figure='{figure}']").click()
    page.locator("#witness-back").click()
    page.get_by_role("button", name="Release").click()
    expect(page.locator("#hold")).to_be_hidden()
    expect(form).to_be_hidden()
    expect(page.locator("#facts")).to_contain_text("witnessed by Gro Reviewer, known by badge and PIN")

    # By keyboard; Escape takes the question away, and nothing typed stays.
    _at_a_hold(page, server, "5029")
    _hold_up(page, badge)
    page.keyboard.type("half of it")
    page.keyboard.press("Escape")
    expect(form).to_be_hidden()
    _hold_up(page, badge)
    page.keyboard.type(SECRET)
    page.keyboard.press("Enter")
    expect(page.locator("#facts")).to_contain_text("known by badge and secret")
    assert faults == []


def _at_a_hold(page: Page, server: Server, work_order: str) -> None:
    if "/bench/" not in page.url:
        sign_in(page, server.address, "fitter")
    to_bench(page, server.address, work_order)
    expect(page.locator("#facts")).to_contain_text("Leak test")
    page.evaluate(_DONE)
    expect(page.locator("#hold")).to_be_visible()


def _hold_up(page: Page, badge: str) -> None:
    """Read the badge by a reader that types."""
    if page.locator("#scan-open").is_hidden():
        page.locator("#scan").click()
    page.fill("#scan-typed", badge)
    page.locator("#scan-typed").press("Enter")
    expect(page.locator("#witness")).to_be_visible()
