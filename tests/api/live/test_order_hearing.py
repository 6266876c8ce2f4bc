"""A work order said at a bench's start, by free voices: begun only where it is sure and known."""

from __future__ import annotations

import pytest

from api.live.order_hearing import OrderHearing, plain, understood
from capture.engines.spoken_codes import one_of
from capture.free_voices import speak
from tests.conftest import need_program

KNOWN = ("WO 44/17", "2069", "8830", "W-0266")


@pytest.fixture(autouse=True)
def _flite() -> None:
    need_program("flite")


@pytest.mark.parametrize(
    ("said", "voice", "order"),
    [
        ("work order four four one seven", "rms", "WO 44/17"),
        ("work order forty four seventeen", "rms", "WO 44/17"),
        ("work order two oh six nine", "rms", "2069"),
        ("work order whiskey oh two double six", "awb", "W-0266"),
    ],
)
def test_a_known_order_is_understood(said: str, voice: str, order: str) -> None:
    assert understood(speak(said, voice), KNOWN).order == order


@pytest.mark.parametrize("voice", ["rms", "slt"])
def test_an_order_that_nobody_knows_begins_nothing(voice: str) -> None:
    found = understood(speak("work order one five zero five", voice), KNOWN)
    assert (found.order, found.choices) == (None, ())


@pytest.mark.parametrize(
    "said",
    [
        "did you see the match on saturday",
        "front clearance vane one eighteen thou",
        "what time is lunch today",
    ],
)
def test_other_talk_is_no_order(said: str) -> None:
    found = understood(speak(said, "slt"), KNOWN)
    assert (found.code, found.order, found.choices) == ("", None, ())


def test_what_was_heard_as_nearly_a_known_order_is_asked_about() -> None:
    # Heard with a letter too many: the known one fits as well, but it was not heard.
    found = understood(speak("work order forty four seventeen", "slt"), KNOWN)
    assert (found.order, found.choices) == (None, ("WO 44/17",))


def test_two_orders_that_are_said_the_same_are_asked_about() -> None:
    found = understood(speak("work order four four one seven", "rms"), ("WO 44/17", "4417"))
    assert found.order is None
    assert set(found.choices) == {"WO 44/17", "4417"}


def test_it_is_heard_in_a_process_of_its_own_and_again_after_that_died() -> None:
    hearing = OrderHearing()
    sound = speak("work order four four one seven", "rms")
    assert hearing.understand(sound, KNOWN).order == "WO 44/17"
    hearing.close()
    assert hearing.understand(sound, KNOWN).order == "WO 44/17"
    hearing.close()


@pytest.mark.parametrize(
    ("order", "code"),
    [("WO 44/17", "4417"), ("wo-7", "7"), ("WO", "WO"), ("W-0266", "W0266"), ("Æ 1", "1"), ("", "")],
)
def test_what_is_said_of_an_order(order: str, code: str) -> None:
    assert plain(order) == code


def test_the_ways_of_saying_a_code() -> None:
    _, arcs = one_of(["4417"])
    words = {word for _, _, _, word in arcs}
    assert {"four", "one", "seven", "double", "forty", "seventeen"} <= words
    assert "zero" not in words
