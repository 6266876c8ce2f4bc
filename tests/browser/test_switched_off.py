"""A microphone switched off, a page loaded again, a job handed over: each is told, and nothing is lost."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from api.listening import SOUND_JOURNAL
from capture.sound import RATE_HZ
from capture.sound_journal import read_sound_journal
from tests.browser.conftest import FULL_HD, Server
from tests.browser.shop_people import complaints_of, set_up_shop, sign_in, to_bench

pytestmark = pytest.mark.real_time

#: A busy machine takes long to begin.
_SOON_MS = 180_000
#: The page's own stream, kept where the test can switch it off as its owner does.
_HOLD = """
const devices = navigator.mediaDevices;
if (devices) {
  const open = devices.getUserMedia.bind(devices);
  devices.getUserMedia = async (wanted) => (window.held = await open(wanted));
}
"""


_WATCH = """
const seen = [], place = document.getElementById("handing-over");
new MutationObserver(() => setTimeout(() => {
  const buttons = [...place.closest("form").querySelectorAll("button")];
  seen.push([place.textContent, buttons.every((button) => button.disabled)]);
  sessionStorage.setItem("seen", JSON.stringify(seen));
}, 50)).observe(place, { childList: true, characterData: true, subtree: true });
"""


@pytest.mark.long
def test_switched_off_loaded_again_and_handed_over(
    server: Server, open_browser: Callable[..., Browser], screen: Callable[..., Path]
) -> None:
    faults: list[str] = []
    page = open_browser().new_page(viewport=FULL_HD)  # its microphone beeps
    complaints_of(page, faults)
    set_up_shop(page, server, {"fitter": ("Odd Fitter", "technician")})
    sign_in(page, server.address, "fitter")
    page.add_init_script(_HOLD)
    to_bench(page, server.address, "5028")

    red, why = page.locator("#not-recording"), page.locator("#not-recording-why")
    _listened(page, server, 3.0)
    expect(red).to_be_hidden()
    page.evaluate("held.getTracks().forEach((track) => track.stop())")
    expect(red).to_be_visible(timeout=_SOON_MS)
    expect(why).to_contain_text("is it switched off?")
    screen(page, "microphone-off")

    before_s = _kept_s(server)
    page.reload()
    expect(why).to_have_text("press Listen")
    # It goes on behind what was sent before, in the same recording.
    _listened(page, server, before_s + 3.0)
    expect(red).to_be_hidden()
    _handed_over(page, server.address)
    assert faults == []


def _listened(page: Page, server: Server, least_s: float) -> None:
    """Listen until so much sound lies on the server's disk."""
    page.get_by_role("button", name="Listen").click()
    until = time.monotonic() + _SOON_MS / 1000
    while _kept_s(server) < least_s:
        assert time.monotonic() < until, f"{_kept_s(server)} s of {least_s} s were kept"
        page.wait_for_timeout(200)


def _handed_over(page: Page, address: str) -> None:
    """The wait for the last words is shown, and cannot be asked for twice."""
    # The driver looks at no page that is on its way to another: the page itself writes down what it shows.
    page.evaluate(_WATCH)
    held: list[Route] = []
    page.route("**/hand-over", lambda route: held.append(route))
    page.get_by_role("button", name="Hand over").click(no_wait_after=True, timeout=_SOON_MS)
    page.wait_for_timeout(2500)
    held[0].abort()
    page.unroute("**/hand-over")
    page.goto(f"{address}/bench")
    seen = page.evaluate("JSON.parse(sessionStorage.getItem('seen'))")
    assert any("The last words are being heard" in text and shut for text, shut in seen)


def _kept_s(server: Server) -> float:
    """Return how much sound lies on the server's disk in the one recording that there is, seconds."""
    found = list(server.folder.rglob(SOUND_JOURNAL))
    assert len(found) <= 1
    return sum(len(block) for path in found for block in read_sound_journal(path).blocks()) / RATE_HZ
