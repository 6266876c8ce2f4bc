"""The number words of an utterance: what hearings of it are told apart by."""

from __future__ import annotations

from capture.vocabulary.spoken_numbers import NUMBER_WORDS

#: Ways of saying one thing; a difference in them is none.
_SAME = {
    "zero": "oh", "nought": "oh", "naught": "oh", "o": "oh", "thousandths": "thou", "thousandth": "thou",
    "mils": "thou", "tenths": "tenth", "hundredths": "hundredth", "quarters": "quarter", "eighths": "eighth",
    "sixteenths": "sixteenth", "comma": "point",
}  # fmt: skip
_PUNCTUATION = ".,;:!?\"'"
_COUNTED = NUMBER_WORDS | frozenset(_SAME) | {"minus"}


def number_word(word: str) -> str:
    """Return what counts of a word in a number, empty where nothing does."""
    word = word.partition("(")[0]
    return _SAME.get(word, word) if word in _COUNTED else ""


def number_words_of(text: str) -> tuple[str, ...]:
    """Return the number words of a text in order, synonyms made one."""
    words = text.lower().replace("-", " ").split()
    return tuple(filter(None, (number_word(word.strip(_PUNCTUATION)) for word in words)))


def carries_number(text: str) -> bool:
    """Tell whether a text has a number in it, in words or figures; a lone ``one`` is none (``that one``)."""
    if any(character.isdigit() for character in text):
        return True
    return number_words_of(text) not in ((), ("one",))
