"""What the board shows, in words."""

from __future__ import annotations

import pytest

from api.live.board import SHOWN, board_of
from extract.record_builder import RecordBuilder
from shared.job_sheet import load_job_sheet
from shared.speech import Utterance

SHEET = load_job_sheet("wash-water-end-suction")


def builder(*said: str) -> RecordBuilder:
    made = RecordBuilder(SHEET)
    for number, words in enumerate(said):
        made.hear(Utterance(words, 4.0 * number, 4.0 * number + 2))
    return made


@pytest.mark.parametrize(
    ("said", "mark", "value"),
    [
        ("front clearance vane one eighteen thou", "within", "0.018 in"),
        ("front clearance vane one sixty thou", "outside", "0.060 in"),
        ("the rotating face is chipped", "taken", "chipped"),
        ("seal is renewed", "taken", "renewed"),
        ("front clearance vane one thirteen or thirty thou", "ask", "?"),
    ],
)
def test_the_latest_entry_comes_first_with_word_and_symbol(said: str, mark: str, value: str) -> None:
    board = board_of(builder("shim pack fifty thou", said).record(), SHEET)
    line = board.lines[0]
    assert line.mark == mark
    assert value in line.value
    assert line.symbol
    assert line.word
    assert line.heard == said


def test_only_what_can_be_read_from_two_metres_is_shown() -> None:
    said = [f"front clearance vane {n} eighteen thou" for n in ("one", "two", "three", "four", "five")] * 3
    assert len(board_of(builder(*said).record(), SHEET).lines) == SHOWN


def test_pause_and_resume_show() -> None:
    assert board_of(builder("pause recording").record(), SHEET).paused
    assert not board_of(builder("pause recording", "resume recording").record(), SHEET).paused
