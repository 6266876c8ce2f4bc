"""What may stand between a verb and the part that it does something to."""

from __future__ import annotations

from collections.abc import Sequence

from extract.number_words import NUMBER_WORDS
from extract.word_sets import word_set

_BETWEEN = word_set("part_talk.between_verb")
_SIZES = word_set("part_talk.sizes")
_FEATURES = word_set("reference.features")


def may_stand_between(word: str) -> bool:
    """Whether a word can stand between a verb and its part ("took out two ten thou shims")."""
    return word in _BETWEEN or word in _SIZES or word in NUMBER_WORDS or word[0].isdecimal()


def without_feature(between: Sequence[str]) -> list[str]:
    """Leave out what of a part is worked on ("cleaned | the face of | the casing")."""
    if "of" not in between:
        return list(between)
    at = between.index("of")
    featured = at > 0 and between[at - 1] in _FEATURES
    return [*between[: at - 1], *between[at + 1 :]] if featured else list(between)
