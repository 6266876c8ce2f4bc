"""How often the guess of a pronunciation is wrong, for words that no dictionary holds.

Two samples: words of the CMU dictionary that were held back when the table was made, and the trade
words that were written by hand because that dictionary lacks them. The second is the harder and nearer
one. Of each, those that are two bench words written as one are also shown apart: by their letters, and
by their halves, which is how they are said.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from capture.vocabulary.compounds import halves_of
from capture.vocabulary.letter_to_sound import Sounds, sounds_of
from capture.vocabulary.pronunciations import general_dictionary, hand_made_dictionary, pronunciations_of
from capture.vocabulary.train_letter_to_sound import edit_distance, split_words


def trade_words() -> dict[str, list[Sounds]]:
    """Return the hand-made entries that the CMU dictionary lacks, with all their pronunciations."""
    return {
        word: [tuple(form.split()) for form in forms]
        for word, forms in hand_made_dictionary().items()
        if re.fullmatch(r"[a-z]{3,}", word) and word not in general_dictionary()
    }


def compound_words(words: dict[str, list[Sounds]]) -> dict[str, list[Sounds]]:
    """Return those that are two bench words written as one, both in a dictionary."""
    found = {}
    for word, forms in words.items():
        halves = halves_of(word)
        if halves and all(half in general_dictionary() or half in hand_made_dictionary() for half in halves):
            found[word] = forms
    return found


def measure() -> dict[str, Any]:
    """Return phones wrong and words with any error, against the nearest pronunciation listed."""
    figures: dict[str, Any] = {}
    for name, words in (("held back", split_words()[1]), ("trade words", trade_words())):
        figures[name] = _figures(words, sounds_of)
        compounds = compound_words(words)
        figures[f"{name}, compounds by letters"] = _figures(compounds, sounds_of)
        figures[f"{name}, compounds by halves"] = _figures(compounds, _by_halves)
    return figures


def _by_halves(word: str) -> Sounds:
    halves = halves_of(word)
    assert halves is not None
    return tuple(phone for half in halves for phone in pronunciations_of(half)[0].split())


def _figures(words: dict[str, list[Sounds]], say: Callable[[str], Sounds]) -> dict[str, Any]:
    wrong = phones = with_error = 0
    for word, forms in words.items():
        said = say(word)
        errors, length = min((edit_distance(said, form), len(form)) for form in forms)
        wrong, phones, with_error = wrong + errors, phones + length, with_error + (errors > 0)
    return {
        "words": len(words),
        "phone_error_rate": round(wrong / max(1, phones), 4),
        "words_with_an_error": round(with_error / max(1, len(words)), 4),
    }
