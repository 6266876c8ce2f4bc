"""Nothing but zeros: a microphone that is off, or a headset whose noise gate shuts between phrases?"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Route

pytestmark = pytest.mark.real_time

_STATIC = Path(__file__).parents[2] / "api/web/static"
#: Stretches of (seconds, peak); what is said in red at the end of each.
_PLAY = """async (stretches) => {
  const { DeadAir } = await import("/dead_air.js");
  const air = new DeadAir(0);
  let now = 0;
  return stretches.map(([seconds, peak]) => {
    for (let tenth = 0; tenth < Math.round(10 * seconds); tenth++) air.hear(peak, (now += 100));
    return air.why(now);
  });
}"""
OFF = "the microphone gives dead silence: is it switched off?"
SPEECH, ROOM, ZEROS = 0.2, 0.002, 0.0


@pytest.fixture
def play(open_browser: Callable[..., Browser]) -> Callable[..., list[str]]:
    page: Page = open_browser().new_page()

    def give(route: Route) -> None:
        script = route.request.url.endswith(".js")
        if script:
            route.fulfill(path=_STATIC / "dead_air.js", content_type="text/javascript")
        else:
            route.fulfill(body="<!doctype html><title>none</title>", content_type="text/html")

    page.route("**/*", give)
    page.goto("http://localhost/")
    return lambda *stretches: list(page.evaluate(_PLAY, list(stretches)))


@pytest.mark.long
def test_what_gives_zeros_is_told(play: Callable[..., list[str]]) -> None:
    # A microphone without a gate: told after five seconds, taken back when it gives sound again.
    assert play((60, ROOM), (4.9, ZEROS), (0.3, ZEROS), (1, ROOM)) == ["", "", OFF, ""]
    # Off from the beginning; and a headset with a gate that nobody has spoken into yet.
    assert play((4.9, ZEROS), (0.3, ZEROS), (1, SPEECH)) == ["", OFF, ""]
    # Muted by hand once or twice is no gate.
    assert play((9, ROOM), (20, ZEROS), (9, ROOM), (20, ZEROS), (9, ROOM), (5.3, ZEROS))[-1] == OFF
    # Neither are holes shorter than a pause, nor clicks of a microphone that is off.
    assert play(*[(1, ROOM), (0.1, ZEROS)] * 9, (5.3, ZEROS))[-1] == OFF
    assert play((5, SPEECH), *[(2, ZEROS), (0.1, SPEECH)] * 5, (5.3, ZEROS))[-1] == OFF


@pytest.mark.long
def test_a_noise_gate_is_asked_about_after_much_longer_than_its_pauses(
    play: Callable[..., list[str]],
) -> None:
    # Three pauses that ended in speech: who measures for twenty seconds is not told to be unheard.
    talk = [(2, SPEECH), (3, ZEROS)] * 3
    *_, quiet, asked, heard = play((1, SPEECH), *talk, (2, SPEECH), (29, ZEROS), (2, ZEROS), (1, SPEECH))
    assert quiet == heard == ""
    assert asked == "no sound at all for 31 s, pauses so far were up to 3 s: is it switched off?"
    # The longer the pauses, the later, but two minutes are always asked about.
    slow = [(2, SPEECH), (15, ZEROS)] * 4
    assert [bool(why) for why in play(*slow, (2, SPEECH), (59, ZEROS), (4, ZEROS))[-2:]] == [False, True]
    slower = [(2, SPEECH), (90, ZEROS)] * 4
    assert [bool(why) for why in play(*slower, (2, SPEECH), (119, ZEROS), (2, ZEROS))[-2:]] == [False, True]
