"""What the bench says to the tool, and what only sounds like it."""

from __future__ import annotations

import pytest

from api.live.bench_orders import Order, asks_what_is_left, order_in
from extract.heard import Heard
from extract.observer import Observer
from extract.record_builder import RecordBuilder
from shared.job_sheet import load_job_sheet
from shared.speech import Utterance


class Pieces(Observer):
    def __init__(self) -> None:
        self.pieces: list[Heard] = []

    def heard(self, heard: Heard, paused: bool) -> None:
        self.pieces.append(heard)


PIECES = Pieces()
BUILDER = RecordBuilder(load_job_sheet("wash-water-end-suction"), observer=PIECES)


def order(said: str) -> Order | None:
    PIECES.pieces.clear()
    BUILDER.hear(Utterance(said, 0, 1))
    return order_in(PIECES.pieces)


@pytest.mark.parametrize(
    "said",
    [
        "what's left",
        "okay so what's left to do",
        "what is still missing on the sheet",
        "what have I missed",
        "what did we forget before we button it up",
        "anything missing",
        "tell me what's left please",
        "what do i still need",
    ],
)
def test_what_is_left_is_asked(said: str) -> None:
    assert asks_what_is_left(said)


@pytest.mark.parametrize(
    "said",
    [
        "what's left of the bearing is scrap",
        "what's left in the pot",
        "what's left for lunch",
        "the left one is what's worn",
        "he left what's his name",
        "what's missing is a bolt",
        "anything left over goes in the bin",
        "nothing left",
        "",
    ],
)
def test_what_only_sounds_like_it_asks_nothing(said: str) -> None:
    assert not asks_what_is_left(said)


@pytest.mark.parametrize(
    "said",
    [
        "right, putting the casing back on",
        "the pump's going back together",
        "she's going together now",
        "okay buttoning it up",
        "i'm about to close it up",
        "closing up now",
        "top half going back on",
        "putting the cover back on",
        "let's put it back together",
        "bolting up the casing",
        "we're ready to button this up",
        "ready for the casing",
        "it's going together with a new gasket",
    ],
)
def test_the_pump_goes_together(said: str) -> None:
    assert order(said) == "closing"


@pytest.mark.parametrize(
    "said",
    [
        "when it goes together i want new shims",
        "before it goes back together check the key",
        "we're not putting it back together today",
        "it didn't go together right",
        "last time we were putting it together it leaked",
        "they were closing it up when the whistle blew",
        "if it's going back together wrong we start over",
        "should i close it up",
        "i'm closing the valve",
        "buttoning up my coat",
        "closing up the shop at five",
        "putting the lid on the paint",
        "the cover goes on the shelf",
        "putting the impeller back on the shaft",
        "putting the bearing cover back on",
        "the impeller goes back on",
        "put the kettle on",
    ],
)
def test_what_goes_together_some_other_time_or_place_warns_of_nothing(said: str) -> None:
    assert order(said) is None


@pytest.mark.parametrize(
    "said", ["taking it apart again", "the casing's coming back off", "opening it back up"]
)
def test_the_pump_is_taken_apart_again(said: str) -> None:
    assert order(said) == "opened"
