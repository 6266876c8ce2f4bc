"""Whether a number without a unit stands for an amount, or is a pronoun, a quantifier, a verb.

"one" is mostly a pronoun, "half" a piece, "all five" everybody, "zero it" an order.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Final

from extract.number_cues import cue_words
from extract.number_words import ARTICLES, TEENS, TENS
from extract.numbers import NumberReading, is_number_word
from extract.spoken_units import unit_names_at
from extract.tokens import Token

_ONE_OF: Final = cue_words("one_of")
_ONE_OF_PLACES: Final = cue_words("one_of_places")
_AFTER_ONE: Final = cue_words("after_one")
_BEFORE_ONE: Final = cue_words("before_one")
_BEFORE_ONE_AT_END: Final = cue_words("before_one_at_end")
_AFTER_ONE_VALUE: Final = cue_words("after_one_value")
_THERE_IS: Final = cue_words("there_is")
_DETERMINERS: Final = cue_words("determiners")
_ZERO_OBJECTS: Final = cue_words("zero_objects")
_BEFORE_HALF: Final = cue_words("before_half")
_AFTER_HALF: Final = cue_words("after_half")
_AFTER_PART: Final = cue_words("after_part")
_NO_PLURALS: Final = cue_words("no_plurals")
_NO_ADJECTIVES: Final = cue_words("no_adjectives")
_OF_THE_HALF: Final = frozenset({"the", "that", "this", "a", "my", "your", "its", "off", "whole", "one"})
_EXCLAIMED_ZEROS: Final = frozenset({"oh", "o", "ought", "aught", "nil"})
#: "Scratch that", and then the number.
_THAT_IS_SAID: Final = frozenset({"scratch", "strike", "scrub", "make", "call", "forget"})
_ODD_PARTS: Final = frozenset({3, 5, 6, 7, 9})
_LARGEST_QUANTIFIER: Final = 12
_TWO_FIGURES: Final = frozenset({*TENS, *TEENS})


def stands_alone(tokens: Sequence[Token], i: int, reading: NumberReading) -> bool:
    """Tell whether a number that starts at ``i`` may be an amount without a unit."""
    word = tokens[i].norm
    before = tokens[i - 1].norm if i else ""
    after = tokens[reading.end].norm if reading.end < len(tokens) else ""
    if reading.end == i + 1:
        if word in _EXCLAIMED_ZEROS:
            return False
        if word == "one":
            return _one_is_value(tokens, i, before, after)
        if word in ("zero", "nought", "naught"):
            return after not in _ZERO_OBJECTS
    if reading.style == "fraction" and not word[0].isdecimal():
        return _part_is_value(reading.value, word, tokens[i - 2].norm if i > 1 else "", before, after)
    if (
        before in _DETERMINERS
        and 1 <= reading.value <= _LARGEST_QUANTIFIER
        and reading.value.denominator == 1
    ):
        return False
    return not _counting_aloud(reading)


def pronoun_tokens(tokens: Sequence[Token]) -> frozenset[int]:
    """Return the indexes of every "one" that stands for a thing: "the last one", "this one"."""
    return frozenset(
        i
        for i in range(1, len(tokens))
        if tokens[i].norm == "one" and (_stands_for(tokens, i) or _of_a_unit(tokens, i))
    )


def things_before_amounts(tokens: Sequence[Token]) -> frozenset[int]:
    """Return each "one" behind an article and an adjective with an amount of its own behind it."""
    return frozenset(
        i
        for i in range(2, len(tokens) - 1)
        if tokens[i].norm == "one"
        and tokens[i - 1].norm in _ONE_OF
        and tokens[i - 2].norm in ARTICLES
        and tokens[i + 1].norm in _TWO_FIGURES
    )


def _stands_for(tokens: Sequence[Token], i: int) -> bool:
    before = tokens[i - 1].norm
    dismissed = before == "that" and i > 1 and tokens[i - 2].norm in _THAT_IS_SAID
    if dismissed and i + 1 < len(tokens) and is_number_word(tokens[i + 1]):
        return False
    # "That's a big one forty four" is one thing, "bottom one fifty five" an amount.
    placed = before in _ONE_OF_PLACES and not (i > 1 and tokens[i - 2].norm in ARTICLES)
    return before in _ONE_OF and not (placed and _amount_goes_on(tokens, i + 1))


def _of_a_unit(tokens: Sequence[Token], i: int) -> bool:
    """Tell "the inch pound one", "the thou one"."""
    for start in range(max(1, i - 3), i):
        names, end = unit_names_at(tokens, start)
        if names and end == i and tokens[start - 1].norm in ("the", "that", "this"):
            return True
    return False


def counts_things(tokens: Sequence[Token], end: int) -> bool:
    """Tell whether a number that ends at ``end`` counts things: "three shims", "two of the bolts"."""
    if end >= len(tokens):
        return False
    word = tokens[end].norm
    if word == "of" or _is_plural(word):
        return True
    following = tokens[end + 1].norm if end + 1 < len(tokens) else ""
    return word.isalpha() and word not in _NO_ADJECTIVES and _is_plural(following)


def _amount_goes_on(tokens: Sequence[Token], i: int) -> bool:
    return i >= len(tokens) or is_number_word(tokens[i]) or tokens[i].norm in _AFTER_ONE


def _one_is_value(tokens: Sequence[Token], i: int, before: str, after: str) -> bool:
    ends = not after or after in _AFTER_ONE_VALUE
    if before in _BEFORE_ONE_AT_END:
        return ends and not (i >= 2 and tokens[i - 2].norm in _THERE_IS)
    return (before in _BEFORE_ONE and ends) or (before == "," and i >= 2 and is_number_word(tokens[i - 2]))


def _part_is_value(value: Fraction, word: str, earlier: str, before: str, after: str) -> bool:
    if value.denominator in _ODD_PARTS:
        return False
    if value == Fraction(1, 2):
        piece = word in (*ARTICLES, "half")
        fits = before in _BEFORE_HALF and after not in _AFTER_HALF and not after.endswith("ed")
        return not piece or (fits and not (before in _ONE_OF_PLACES and earlier in _OF_THE_HALF))
    return word not in ("quarter", "eighth", "sixteenth") and after not in _AFTER_PART


def _counting_aloud(reading: NumberReading) -> bool:
    """Tell "one two three" from a number: digits in order from one on."""
    return (
        reading.style == "digit_run" and len(reading.digits) >= 2 and "123456789".startswith(reading.digits)
    )


def _is_plural(word: str) -> bool:
    return len(word) > 3 and word[-1] == "s" and word.isalpha() and word not in _NO_PLURALS
