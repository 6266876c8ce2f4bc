"""A text without an end is read in pieces: nothing of it is lost, and the work stays in proportion."""

from __future__ import annotations

import pytest

from extract.breaths import breaths
from extract.record_builder import RecordBuilder
from extract.tokens import tokenize
from shared.speech import Utterance
from tests.extract.work import calls_of

TALK = "front clearance vane one thirty one thou and vane two thirty two . the carbon is cracked "


@pytest.mark.parametrize("text", ["", "end play two thou", TALK * 20, "x" * 5000])
def test_what_may_be_said_in_one_breath_is_left_whole(text: str) -> None:
    assert list(breaths(text)) == [None]


@pytest.mark.parametrize("text", [TALK * 300, "one " * 5000, "end play. " * 900])
def test_pieces_hold_every_word_in_order(text: str) -> None:
    pieces = [piece for piece in breaths(text) if piece is not None]
    assert len(pieces) > 1
    assert [t.norm for piece in pieces for t in tokenize(piece)] == [t.norm for t in tokenize(text)]


def test_a_piece_ends_with_a_sentence_where_one_ends() -> None:
    pieces = list(breaths(TALK * 300))
    assert {piece.split()[-1] for piece in pieces if piece is not None} == {".", "cracked"}


def test_five_times_the_words_cost_about_five_times_the_work() -> None:
    def work(times: int) -> int:
        builder = RecordBuilder("wash-water-end-suction")
        builder.hear(Utterance("good morning", 0, 1))
        return calls_of(lambda: builder.hear(Utterance(TALK * times, 0, 5)))

    few, many = work(12), work(60)
    assert many < 6 * few


def test_all_of_a_long_text_is_read_and_kept() -> None:
    builder = RecordBuilder("wash-water-end-suction")
    text = "we talked of this and that . " * 150 + "end play two thou . " + "nothing more to say . " * 150
    builder.hear(Utterance(text, 0, 5))
    reading = builder.record().readings[0]
    assert (reading.item, reading.value_exact) == ("end_play", "0.002")
    assert len(reading.evidence.words) < len(text) / 2
    assert "end play two thou" in builder.kept(0).text
