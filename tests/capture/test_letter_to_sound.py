"""The guess of a pronunciation is as good as its table says it is."""

from __future__ import annotations

import re

import pytest

from bench.pronunciation import measure, trade_words
from capture.vocabulary.compounds import halves_of
from capture.vocabulary.letter_to_sound import TABLE, contexts, narrower, sounds_of
from capture.vocabulary.pronunciations import is_guessed, pronunciations_of
from capture.vocabulary.train_letter_to_sound import align_all, edit_distance, error_rates, grow_table

#: Half of the last digit that the table's head states.
ROUNDING = 0.0006
#: Share of trade words guessed with an error: measured 25 November 2026, not to get worse.
TRADE_WORDS_WRONG = 0.57


def stated() -> tuple[float, float]:
    found = re.search(r"held back: ([\d.]+) % of phones wrong, ([\d.]+) % of words", TABLE.read_text("ascii"))
    assert found
    return float(found[1]) / 100, float(found[2]) / 100


def test_measured_errors_are_no_worse_than_the_table_states() -> None:
    figures = measure()
    phones, words = stated()
    held_back = figures["held back"]
    assert held_back["words"] > 5000
    assert held_back["phone_error_rate"] <= phones + ROUNDING
    assert held_back["words_with_an_error"] <= words + ROUNDING
    assert figures["trade words"]["words_with_an_error"] <= TRADE_WORDS_WRONG
    assert len(trade_words()) > 100
    for sample in ("held back", "trade words"):
        by_letters, by_halves = (figures[f"{sample}, compounds by {way}"] for way in ("letters", "halves"))
        assert by_halves["words"] == by_letters["words"] >= 10
        assert by_halves["words_with_an_error"] < 0.8 * by_letters["words_with_an_error"]


@pytest.mark.parametrize(("word", "said"), [("blit", "B L IH T"), ("strop", "S T R AA P")])
def test_plain_words_are_said_by_their_letters(word: str, said: str) -> None:
    assert " ".join(sounds_of(word)) == said


@pytest.mark.parametrize(
    ("word", "guessed"),
    [("gasket", False), ("gaskets", False), ("gasket's", False), ("o_ring", False), ("qwurble", True),
     ("qwurble's", True), ("q", False), ("crankcase", False), ("gearwheel", True)],
)  # fmt: skip
def test_it_is_known_which_words_are_guessed(word: str, guessed: bool) -> None:
    assert is_guessed(word) is guessed


def test_two_bench_words_written_as_one_are_said_as_two() -> None:
    gear, wheel = pronunciations_of("gear")[0], pronunciations_of("wheel")[0]
    assert pronunciations_of("gearwheel")[0] == f"{gear} {wheel}"
    assert halves_of("impeller") is None


def test_contexts_grow_by_one_neighbour() -> None:
    grown = list(contexts("seal", 1))
    assert grown[:3] == ["e.", "e.a", "se.a"]
    assert [narrower(wide) for wide in grown[1:]] == grown[:-1]


def test_a_table_learns_what_it_is_shown_and_is_scored_on_what_it_is_not() -> None:
    shown = {word: [tuple(said.split())] for word, said in (("pit", "P IH T"), ("tip", "T IH P"))}
    table = grow_table(align_all(shown), least_gain=1)
    assert sounds_of("pit", table) == ("P", "IH", "T")
    phones, words = error_rates(table, {"tit": [("T", "IH", "T")], "pip": [("P", "AY", "P")]})
    assert (phones, words) == (pytest.approx(1 / 6), 0.5)


def test_edit_distance_counts_each_kind_of_error() -> None:
    assert edit_distance(("A", "B", "C"), ("A", "X", "C", "D")) == 2
    assert edit_distance((), ("A",)) == 1
