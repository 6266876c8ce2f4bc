"""Pronunciations for sound that went through the noise suppressor: also what it leaves of words.

The suppressor keeps the vowels and loses plosives; a number whose "point" is lost is another number.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

from capture.vocabulary.pronunciations import read_dictionary

_SOUNDS = Path(__file__).parent / "suppressed_sounds.dict"


@cache
def suppressed_sounds() -> dict[str, list[str]]:
    """Return what is left of words: word to pronunciations, phones parted by one space."""
    return read_dictionary(_SOUNDS)


def with_suppressed(dictionary: str) -> str:
    """Return a dictionary with what is left of those of its words that the suppressor harms.

    Args:
        dictionary: text in the CMU format, ``word(2)`` for a variant.
    """
    lines = dictionary.splitlines()
    for word, sounds in suppressed_sounds().items():
        known = [line.partition(" ") for line in lines if line.startswith((f"{word} ", f"{word}("))]
        if known:
            new = (phones for phones in sounds if all(phones != said for _, _, said in known))
            lines += [f"{word}({n}) {phones}" for n, phones in enumerate(new, len(known) + 1)]
    return "\n".join(lines) + "\n"
