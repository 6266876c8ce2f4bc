"""What a bench does unasked: its screen stays awake, its microphone's settings are kept, tones tell."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, Page, WebSocketRoute, expect

from api.live.answers import Answer
from api.live.board import Board
from api.signing.chain import first_break
from api.store.database import Database, database_url
from api.store.job_events import chain_of
from tests.browser.conftest import FULL_HD, Server
from tests.browser.shop_people import complaints_of, set_up_shop, sign_in, to_bench

pytestmark = pytest.mark.real_time

_SOON_MS = 120_000
#: The locks that the browser gave the page, and the microphone's settings as the browser has them.
_WATCH = """
window.locks = [];
const ask = navigator.wakeLock.request.bind(navigator.wakeLock);
navigator.wakeLock.request = async (kind) => {
  const lock = await ask(kind);
  window.locks.push(lock);
  return lock;
};
const open = navigator.mediaDevices.getUserMedia.bind(navigator.mediaDevices);
navigator.mediaDevices.getUserMedia = async (wanted) => {
  const stream = await open(wanted);
  if (wanted.audio) window.settings = stream.getAudioTracks()[0].getSettings();
  return stream;
};
"""
_AWAKE = "() => window.locks.map((lock) => [lock.type, lock.released])"
#: The tones that are really started: how high, and when.
_LISTEN_IN = """
window.tones = [];
window.OscillatorNode = class extends OscillatorNode {
  constructor(context, how) { super(context, how); this.asked = how.frequency; }
  start(at) { window.tones.push([this.asked, at]); super.start(at); }
};
"""


@pytest.mark.long
def test_the_screen_stays_awake_and_the_microphones_settings_are_kept(
    server: Server, open_browser: Callable[..., Browser]
) -> None:
    faults: list[str] = []
    page = _at_bench(server, open_browser, _WATCH, faults)
    assert page.evaluate(_AWAKE) == []
    page.get_by_role("button", name="Listen").click()
    page.wait_for_function("() => window.locks.length === 1", timeout=_SOON_MS)
    assert page.evaluate(_AWAKE) == [["screen", False]]
    # The browser lets go of it when the page is out of sight; in sight again it is asked for anew.
    page.evaluate("window.locks[0].release()")
    page.evaluate('document.dispatchEvent(new Event("visibilitychange"))')
    page.wait_for_function("() => window.locks.length === 2", timeout=_SOON_MS)
    assert page.evaluate(_AWAKE) == [["screen", True], ["screen", False]]

    true_settings = page.evaluate("window.settings")
    job = urlsplit(page.url).path.rpartition("/")[2]
    expect(page.locator("#line-state")).to_have_text("listening", timeout=_SOON_MS)
    kept = _begun(server, job)
    # The chain keeps what is no whole number as text: its canonical form has no fractions.
    as_kept = {
        name: str(value) if isinstance(value, float) else value for name, value in true_settings.items()
    }
    assert {name: kept[name] for name in true_settings} == as_kept
    # What would change a voice is off: it was asked for, and this browser did it.
    assert [kept[one] for one in ("autoGainControl", "noiseSuppression", "echoCancellation")] == [False] * 3
    assert kept["context_rate"] > 0
    assert kept["label"]
    assert faults == []


def _begun(server: Server, job: str) -> dict[str, Any]:
    """Return the settings in the link of the chain that begins the recording."""
    database = Database(database_url(server.folder, None))
    with database.reading() as session:
        chain = chain_of(session, job)
    database.close()
    assert first_break(chain) is None
    (begun,) = [one.payload for one in chain if one.kind == "recording_begun"]
    assert begun["source"] == "browser"
    return dict(begun["settings"])


@pytest.mark.long
def test_tones_tell_what_was_taken_asked_and_out_of_limits(
    server: Server, open_browser: Callable[..., Browser]
) -> None:
    faults: list[str] = []
    page = _at_bench(server, open_browser, _LISTEN_IN, faults)
    lines: list[WebSocketRoute] = []
    page.route_web_socket("**/listen*", lambda line: _taken(lines, line))
    page.get_by_role("button", name="Listen").click()
    expect(page.locator("#line-state")).to_have_text("getting ready", timeout=_SOON_MS)
    played = {tone: _played(page, lines[0], tone) for tone in ("taken", "ask", "out", None)}
    # Up for what is taken, level for a question, down for what is out of limits, nothing for nothing.
    taken, ask, out, nothing = ([hz for hz, _ in played[tone]] for tone in played)
    assert len(taken) == len(ask) == len(out) == 2
    assert taken[0] < taken[1]
    assert ask[0] == ask[1]
    assert out[0] > out[1]
    assert nothing == []
    for tone in ("taken", "ask", "out"):
        (_, first), (_, second) = played[tone]
        assert 0.05 < second - first < 0.5, tone
    # Told apart by who hears high tones badly: all below 1 kHz (common practice, no source).
    assert max([*taken, *ask, *out]) < 1000
    assert faults == []


def _taken(lines: list[WebSocketRoute], line: WebSocketRoute) -> None:
    def hear(message: str | bytes) -> None:
        if isinstance(message, str) and message.startswith("{") and json.loads(message)["type"] == "start":
            line.send(json.dumps({"type": "recording", "number": 1, "next": 0}))

    line.on_message(hear)
    lines.append(line)


def _played(page: Page, line: WebSocketRoute, tone: Any) -> list[tuple[float, float]]:
    """Have the server answer so; return the tones that were started, in the order of their moments."""
    board = Board(lines=[], questions=[], left=[], deviations=0, readings=0, paused=False, finished=False)
    answer = Answer(tone=tone, title=f"tone {tone}")
    page.evaluate("window.tones.length = 0")
    told = {"type": "heard", "board": board.model_dump(), "ended_s": 0, "text": ""}
    line.send(json.dumps({**told, "answer": answer.model_dump()}))
    expect(page.locator("#answer h2")).to_have_text(f"tone {tone}")
    found = page.evaluate("window.tones")
    return sorted(((hz, at) for hz, at in found), key=lambda one: one[1])


def _at_bench(server: Server, open_browser: Callable[..., Browser], watching: str, faults: list[str]) -> Page:
    # Playwright refuses what is not named; browsers grant a visible page its wake lock unasked.
    permissions = ["microphone", "screen-wake-lock"]
    context = open_browser().new_context(viewport=FULL_HD, permissions=permissions)
    page = context.new_page()
    complaints_of(page, faults)
    set_up_shop(page, server, {"fitter": ("Odd Fitter", "technician")})
    sign_in(page, server.address, "fitter")
    page.add_init_script(watching)
    to_bench(page, server.address, "5031")
    return page
