"""Names that are easily taken for one another, by how they are said."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, product

from capture.vocabulary.letter_to_sound import Sounds
from capture.vocabulary.pronunciations import pronunciations_of
from capture.vocabulary.spoken_words import dictionary_words
from capture.vocabulary.train_letter_to_sound import edit_distance

#: Of the phones of the words that differ. "Suction" and "section" are one of six apart.
_ALIKE_SHARE = 0.25
_MOST_VARIANTS = 4


def sound_alikes(names: Mapping[str, Sequence[str]]) -> Iterator[tuple[str, str]]:
    """Yield pairs of spoken forms of different names that sound nearly alike, each pair once.

    Args:
        names: by name, what it is called aloud.
    """
    for first, second in combinations(names, 2):
        for one, other in product(names[first], names[second]):
            if one != other and alike(one, other):
                yield one, other


def alike(one: str, other: str) -> bool:
    """Tell whether two phrases are hard to tell apart: what differs in them differs by a phone or so."""
    left, right = dictionary_words(one), dictionary_words(other)
    while left and right and left[0] == right[0]:
        left, right = left[1:], right[1:]
    while left and right and left[-1] == right[-1]:
        left, right = left[:-1], right[:-1]
    if not left or not right:
        return False  # one is the other with a word more: that word is heard or not
    apart, length = min(
        (edit_distance(a, b), max(len(a), len(b))) for a, b in product(_said(left), _said(right))
    )
    return apart <= max(1, _ALIKE_SHARE * length) and length > 2


def _said(words: Sequence[str]) -> list[Sounds]:
    forms: list[Sounds] = [()]
    for word in words:
        ways = [tuple(form.split()) for form in pronunciations_of(word)]
        forms = [so_far + way for so_far, way in product(forms, ways)][:_MOST_VARIANTS]
    return forms
