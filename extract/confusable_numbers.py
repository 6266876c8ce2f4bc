"""Spoken numbers that one is heard for the other: thirteen and thirty, fifteen and fifty.

Which words those are is computed from how they sound: two number words are confusable where their
sounds differ by an ending that noise swallows.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

from extract.number_words import ONES, TEENS, TENS
from extract.tokens import Token

#: Sounds of number words (CMU dictionary phones, stress dropped; common knowledge of English).
_PHONES: dict[str, str] = {
    "one": "W AH N",
    "two": "T UW",
    "three": "TH R IY",
    "four": "F AO R",
    "five": "F AY V",
    "six": "S IH K S",
    "seven": "S EH V AH N",
    "eight": "EY T",
    "nine": "N AY N",
    "ten": "T EH N",
    "eleven": "IH L EH V AH N",
    "twelve": "T W EH L V",
    "thirteen": "TH ER T IY N",
    "fourteen": "F AO R T IY N",
    "fifteen": "F IH F T IY N",
    "sixteen": "S IH K S T IY N",
    "seventeen": "S EH V AH N T IY N",
    "eighteen": "EY T IY N",
    "nineteen": "N AY N T IY N",
    "twenty": "T W EH N T IY",
    "thirty": "TH ER T IY",
    "forty": "F AO R T IY",
    "fifty": "F IH F T IY",
    "sixty": "S IH K S T IY",
    "seventy": "S EH V AH N T IY",
    "eighty": "EY T IY",
    "ninety": "N AY N T IY",
}
_VALUES: dict[str, int] = {**ONES, **TEENS, **TENS}
#: Share of the longer word's sounds that may differ.
_CLOSE = 0.34


@cache
def confusable_words() -> dict[str, tuple[str, ...]]:
    """Return, for each number word, those that it is easily misheard for, nearest first."""
    table: dict[str, tuple[str, ...]] = {}
    for word, phones in _PHONES.items():
        near = []
        for other, sounds in _PHONES.items():
            distance = edit_distance(phones.split(), sounds.split())
            if other != word and distance / max(len(phones.split()), len(sounds.split())) <= _CLOSE:
                near.append((distance, other))
        table[word] = tuple(other for _, other in sorted(near))
    return table


def misheard_words(tokens: Sequence[Token], start: int, end: int) -> list[tuple[int, str]]:
    """Return (token, word that may have been said) for the number words and figures of a run."""
    found = []
    for i in range(start, end):
        word = _word_of(tokens[i].norm)
        found += [(i, other) for other in confusable_words().get(word, ())]
    return found


def figures_of(word: str) -> str:
    """Return a number word in figures."""
    return str(_VALUES[word])


def _word_of(norm: str) -> str:
    if norm in _PHONES:
        return norm
    if norm.isdecimal() and len(norm) <= 2:
        return next((word for word, value in _VALUES.items() if value == int(norm)), "")
    return ""


def edit_distance(first: Sequence[str], second: Sequence[str]) -> int:
    """Return how many sounds must be changed, left out or put in to make one of the other."""
    row = list(range(len(second) + 1))
    for i, sound in enumerate(first, 1):
        previous, row[0] = row[0], i
        for j, other in enumerate(second, 1):
            previous, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, previous + (sound != other))
    return row[-1]
