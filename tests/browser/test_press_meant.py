"""A press counts for the question that it was begun on, or is said not to have counted."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, WebSocketRoute, expect

from api.live.board import Board
from api.live.questions_put import QuestionPut, Reply
from tests.browser.conftest import FULL_HD, Server
from tests.browser.shop_people import complaints_of, set_up_shop, sign_in, to_bench

pytestmark = pytest.mark.real_time

#: Longer than anybody takes to read a question.
_READ_MS = 700


class Line:
    """The server's end of a bench's line: boards go out at a test's word, presses come in."""

    def __init__(self, page: Page) -> None:
        self.pressed: list[tuple[str, str]] = []
        self._page = page
        self._route: WebSocketRoute | None = None
        page.route_web_socket("**/listen*", self._taken)

    def ask(self, entry: str, *, now: bool = True, drawn: bool = True) -> None:
        """Show a question about an entry, none where it is empty; wait until it is drawn."""
        replies = [
            Reply(label=f"{which} {entry}", words=f"the {which} choice") for which in ("first", "second")
        ]
        put = QuestionPut(entry=entry, text=f"{entry}?", say="", replies=replies, now=now) if entry else None
        board = Board(
            lines=[], questions=[], left=[], put=put,
            deviations=0, readings=0, paused=False, finished=False,
        )  # fmt: skip
        self._send({"type": "heard", "board": board.model_dump(), "ended_s": 0, "text": "", "answer": None})
        if drawn:
            shown = self._page.locator(f"#questions .asked[data-entry='{entry}']")
            expect(shown if entry else self._page.locator("#questions:empty")).to_have_count(1)
        else:
            self._page.wait_for_timeout(_READ_MS)

    def _send(self, message: dict[str, Any]) -> None:
        assert self._route is not None
        self._route.send(json.dumps(message))

    def _taken(self, route: WebSocketRoute) -> None:
        self._route = route
        route.on_message(self._hear)

    def _hear(self, message: str | bytes) -> None:
        if isinstance(message, bytes) or not message.startswith("{"):
            return
        told = json.loads(message)
        if told["type"] == "start":
            self._send({"type": "recording", "number": 1, "next": 0})
        if told["type"] == "press":
            self.pressed.append((told["about"], told["words"]))


@pytest.mark.long
def test_a_press_counts_for_the_question_it_was_begun_on(
    server: Server, open_browser: Callable[..., Browser]
) -> None:
    faults: list[str] = []
    page = open_browser().new_page(viewport=FULL_HD)
    complaints_of(page, faults)
    set_up_shop(page, server, {"fitter": ("Odd Fitter", "technician")})
    sign_in(page, server.address, "fitter")
    line = Line(page)
    to_bench(page, server.address, "5028")
    page.get_by_role("button", name="Listen").click()
    expect(page.locator("#line-state")).to_have_text("getting ready")
    _by_finger(page, line)
    _by_key(page, line)
    assert faults == []


def _by_finger(page: Page, line: Line) -> None:
    line.ask("r1")
    page.wait_for_timeout(_READ_MS)
    # The next question comes while the finger is down: it counts for the one it went down on.
    page.get_by_role("button", name="second r1").hover()
    page.mouse.down()
    line.ask("r2", drawn=False)
    expect(page.locator("#questions .asked")).to_have_attribute("data-entry", "r1")
    page.mouse.up()
    expect(page.locator("#questions .asked")).to_have_attribute("data-entry", "r2")
    _sent(page, line, ("r1", "the second choice"))
    # It came just before the finger went down: meant for neither, and said so.
    page.wait_for_timeout(_READ_MS)
    place = page.get_by_role("button", name="first r2").bounding_box()
    assert place is not None
    page.mouse.move(place["x"] + place["width"] / 2, place["y"] + place["height"] / 2)
    line.ask("r3")
    page.mouse.down()
    page.wait_for_timeout(_READ_MS)
    page.mouse.up()
    _not_taken(page, line)
    # Slid off the button: nothing was pressed, and the screen goes on.
    page.get_by_role("button", name="first r3").hover()
    page.mouse.down()
    page.mouse.move(5, 5)
    page.mouse.up()
    line.ask("r4")
    assert line.pressed == []
    page.wait_for_timeout(_READ_MS)
    page.get_by_role("button", name="first r4").click()
    _sent(page, line, ("r4", "the first choice"))


def _by_key(page: Page, line: Line) -> None:
    line.ask("r5")
    page.keyboard.press("1")
    _not_taken(page, line)
    page.wait_for_timeout(_READ_MS)
    # The same question, passed over by the next words: nothing that a press could mistake.
    line.ask("r5", now=False)
    page.keyboard.press("1")
    _sent(page, line, ("r5", "the first choice"))
    # Settled by words while the key went down.
    page.wait_for_timeout(_READ_MS)
    line.ask("")
    page.keyboard.press("2")
    _not_taken(page, line)


def _sent(page: Page, line: Line, press: tuple[str, str]) -> None:
    page.wait_for_timeout(200)
    assert line.pressed == [press]
    line.pressed.clear()
    expect(page.locator("#answer")).to_be_hidden()


def _not_taken(page: Page, line: Line) -> None:
    answer = page.locator("#answer")
    expect(answer).to_contain_text("Not taken")
    expect(answer).to_contain_text("only just changed")
    assert line.pressed == []
    answer.get_by_role("button", name="Close").click()
