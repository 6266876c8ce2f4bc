"""A bench heard by the server's own microphone: its browser asks for none; a silent one is told in red."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, expect

from capture.sound import RATE_HZ, read_sound
from capture.sound_blocks import Samples
from tests.browser.accessibility import serious_faults
from tests.browser.conftest import FULL_HD, PHONE, Server, served
from tests.browser.shop_people import complaints_of, set_up_shop, sign_in
from tests.capture.sound_card import NAME, SoundCard
from tests.conftest import need_program

pytestmark = pytest.mark.real_time

_RECORDING = Path(__file__).parents[2] / "fixtures/recordings/wash-water-end-suction.ogg"
_SAID_S = 75
_ASKS_FOR_NONE = """
if (navigator.mediaDevices) {
  const open = navigator.mediaDevices.getUserMedia.bind(navigator.mediaDevices);
  const complain = () => { throw new Error("a microphone was asked for"); };
  navigator.mediaDevices.getUserMedia = (wanted) => {
    if (wanted.audio) setTimeout(complain);
    return open(wanted);
  };
}
"""
#: Least side of what gloves press, CSS px: 12 mm at 96 px an inch is 45; common practice, no source.
_GLOVE_PX = 45
#: A busy machine takes long to begin and to hear.
_SOON_MS = 240_000


@pytest.fixture
def card(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[SoundCard]:
    made = SoundCard(tmp_path)
    for name, value in made.environment.items():
        monkeypatch.setenv(name, value)
    monkeypatch.setenv("WITNESSMARK_BENCH_MICROPHONE", NAME)
    yield made
    made.close()


@pytest.fixture
def server(card: SoundCard, tmp_path: Path) -> Iterator[Server]:
    need_program("chromium")
    with served(tmp_path / "shop") as started:
        yield started


def said() -> Samples:
    blocks, count = [], 0
    for block in read_sound(_RECORDING).blocks():
        blocks.append(block)
        count += len(block)
        if count > _SAID_S * RATE_HZ:
            break
    return np.concatenate(blocks)


@pytest.mark.long
def test_a_bench_listens_by_the_servers_microphone(
    server: Server, card: SoundCard, open_browser: Callable[..., Browser], screen: Callable[..., Path]
) -> None:
    faults: list[str] = []
    browser = open_browser()
    page = browser.new_page(viewport=FULL_HD)
    complaints_of(page, faults)
    set_up_shop(page, server, {"fitter": ("Odd Fitter", "technician")})
    sign_in(page, server.address, "fitter")
    page.goto(f"{server.address}/bench")
    page.get_by_role("button", name="I agree to be recorded").click()
    page.fill("[name=work_order]", "5029")
    page.select_option("[name=sheet]", "wash-water-end-suction")
    page.add_init_script(_ASKS_FOR_NONE)
    page.get_by_role("button", name="To the bench").click()
    ours, browsers = page.locator("#server-microphone"), page.get_by_role("link", name="This browser’s")
    expect(ours).to_contain_text(NAME)
    expect(ours).to_have_attribute("aria-current", "true")
    for choice in (ours, browsers):
        box = choice.bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= _GLOVE_PX
    assert serious_faults(page) == []

    card.speak(said(), again=True)
    page.get_by_role("button", name="Listen").click()
    red, why = page.locator("#not-recording"), page.locator("#not-recording-why")
    expect(red).to_be_hidden(timeout=_SOON_MS)
    expect(page.locator("#lines li").first).to_be_visible(timeout=_SOON_MS)
    screen(page, "server-microphone")
    card.unplug()
    expect(red).to_be_visible(timeout=_SOON_MS)
    expect(why).to_contain_text("gives no sound")
    screen(page, "server-microphone-lost")
    card.speak(said(), again=True)
    expect(red).to_be_hidden(timeout=_SOON_MS)
    page.set_viewport_size(PHONE)
    screen(page, "server-microphone-phone")
    browsers.click()
    expect(browsers).to_have_attribute("aria-current", "true")
    expect(why).to_have_text("press Listen")
    assert faults == []
