"""The number words of an utterance: what two hearings must agree in before a reading is sure."""

from __future__ import annotations

import re

from capture.vocabulary.spoken_numbers import NUMBER_WORDS, cardinal, digits_of

#: Ways of saying one thing; a difference in them is none.
_SAME = {
    "zero": "oh", "nought": "oh", "naught": "oh", "o": "oh", "thousandths": "thou", "thousandth": "thou",
    "mils": "thou", "tenths": "tenth", "hundredths": "hundredth", "quarters": "quarter", "eighths": "eighth",
    "sixteenths": "sixteenth",
}  # fmt: skip
_COUNTED = NUMBER_WORDS | frozenset(_SAME) | {"minus"}
_FIGURES = re.compile(r"\d[\d,]*(?:\.\d+)?|\.\d+")
#: Longer runs are identifiers, said digit by digit.
_LONGEST_FIGURES = 6


def number_word(word: str) -> str:
    """Return what counts of a word in a number, empty where nothing does."""
    word = word.partition("(")[0]
    return _SAME.get(word, word) if word in _COUNTED else ""


def number_words_of(text: str) -> tuple[str, ...]:
    """Return the number words of a text in order, synonyms made one."""
    return tuple(filter(None, map(number_word, text.lower().replace("-", " ").split())))


def carries_number(text: str) -> bool:
    """Tell whether a text has a number in it, in words or figures; a lone ``one`` is none (``that one``)."""
    if any(character.isdigit() for character in text):
        return True
    return number_words_of(text) not in ((), ("one",))


def same_numbers(first: str, second: str) -> bool:
    """Tell whether two texts surely carry the same numbers, in words or figures.

    Cautious: two ways of saying one value (``eighteen thou``, ``0.018``) count as different. Whoever
    compares the values finds them equal then.
    """
    return _as_words(first) == _as_words(second)


def _as_words(text: str) -> tuple[str, ...]:
    return number_words_of(_FIGURES.sub(_figures_in_words, text))


def _figures_in_words(figures: re.Match[str]) -> str:
    whole, _, behind = figures.group().replace(",", "").partition(".")
    said = cardinal(int(whole)) if whole and len(whole) <= _LONGEST_FIGURES else digits_of(whole)
    return f" {said} point {digits_of(behind)} " if behind else f" {said} "
