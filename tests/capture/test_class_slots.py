"""Slots in natural lines: what belongs to one machine is found and exchanged for the sheet's own."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest

from capture.vocabulary.line_slots import pieces_of
from capture.vocabulary.mixture import BackOffModel, Weights, even_weights, level_of, mix
from capture.vocabulary.natural import refill
from capture.vocabulary.ngrams import START, WordNumbers, train_source
from capture.vocabulary.slots import SheetWords
from shared.job_sheet import load_job_sheet
from shared.lexicon import load_lexicon


def _slots(line: str) -> list[tuple[str, str]]:
    return [(piece.slot, piece.words) for piece in pieces_of(line) if piece.slot]


@pytest.mark.parametrize(
    ("line", "slots"),
    [
        ("throat bush clearance is thirty four point one", ["item", "value"]),
        ("belt deflection's seven sixteenths", ["item", "value"]),
        ("vane six fifteen", ["pos", "value"]),
        ("and two shots of grease", ["count", "cons"]),
        ("no sorry two", ["value"]),
        ("discharge side ten bar", ["pos", "value", "unit"]),
        ("turn it to the left", []),
        ("point eight", ["value"]),
    ],
)
def test_slots_of_machines_on_no_sheet_are_found(line: str, slots: list[str]) -> None:
    assert [slot for slot, _ in _slots(line)] == slots


def test_an_item_takes_the_names_before_it() -> None:
    assert _slots("impeller bore is two thou")[0] == ("item", "impeller bore")


def _filled(line: str, times: int = 40) -> set[str]:
    words = SheetWords(load_job_sheet("wash-water-split-case"), load_lexicon(), Random(1))
    return set(refill((pieces_of(line),), words, times))


def test_a_line_is_filled_with_items_of_its_own_kind() -> None:
    filled = _filled("base bolts forty newton metres")
    assert len(filled) > 10
    assert not [line for line in filled if {"bar", "degrees", "millimetres"} & set(line.split())]


def test_a_line_of_a_kind_that_the_sheet_never_measures_keeps_its_value() -> None:
    assert all("forty percent" in line for line in _filled("glycol forty percent in the seal"))


def _mixed(weights: Weights) -> tuple[WordNumbers, BackOffModel]:
    numbers = WordNumbers()
    natural = numbers.encode([["the", "gap", "is", "wide"], ["the", "pub", "is", "open"]])
    templates = numbers.encode([["the", "gap", "is", "two"]] * 8)
    models = [train_source(text, len(numbers)) for text in (natural, templates)]
    return numbers, mix(models, weights, numbers.words, models[1])


def test_weights_go_by_how_well_the_templates_know_the_words_before() -> None:
    by_level = Weights((0.5, 0.5), ((0.9, 0.1), (0.9, 0.1), (0.1, 0.9)), ((0.9, 0.1), (0.9, 0.1), (0.1, 0.9)))
    numbers, model = _mixed(by_level)
    _, even = _mixed(even_weights((0.5, 0.5)))
    known = numbers.encode([["the", "gap", "is", "two"]])
    unknown = numbers.encode([["the", "pub", "is", "open"]])
    assert model.log10_probability(known)[3] > even.log10_probability(known)[3]
    assert model.log10_probability(unknown)[3] > even.log10_probability(unknown)[3]


def test_probabilities_of_a_history_sum_to_one() -> None:
    numbers, model = _mixed(Weights((0.5, 0.5), ((0.8, 0.2), (0.3, 0.7)), ((0.6, 0.4), (0.2, 0.8))))
    after = [numbers.encode([["the", "gap", word]]) for word in numbers.words[2:]]
    end = numbers.encode([["the", "gap"]])
    chances = [10 ** model.log10_probability(text)[2] for text in (*after, end)]
    assert sum(chances) == pytest.approx(1.0, abs=1e-6)


def test_text_that_stands_several_times_counts_once() -> None:
    numbers = WordNumbers()
    once = numbers.encode([["end", "play", "two"], ["end", "float", "three"]])
    one, four = train_source(once, len(numbers)), train_source(np.tile(once, 4), len(numbers), 4)
    assert four.unigrams == pytest.approx(one.unigrams)
    assert four.bigrams.kept == pytest.approx(one.bigrams.kept)
    assert four.trigrams.left == pytest.approx(one.trigrams.left)
    assert once[0] == START


def test_levels_grow_with_the_square_of_the_count() -> None:
    assert level_of(np.array([0.0, 1.0, 3.0, 4.0, 15.0, 16.0])).tolist() == [0, 1, 1, 2, 2, 3]
