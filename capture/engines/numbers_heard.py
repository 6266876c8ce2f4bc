"""The number words of an utterance: what two hearings must agree in before a reading is sure."""

from __future__ import annotations

import re

from capture.vocabulary.spoken_numbers import NUMBER_WORDS

#: Ways of saying one thing; a difference in them is none.
_SAME = {"zero": "oh", "nought": "oh", "naught": "oh", "o": "oh", "thousandths": "thou", "thousandth": "thou",
         "mils": "thou", "minus": "minus"}  # fmt: skip
_COUNTED = NUMBER_WORDS | frozenset(_SAME) | {"minus"}
_DIGIT_RUN = re.compile(r"\d+(?:[.,/]\d+)*|[a-z']+")


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
