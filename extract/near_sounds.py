"""Words nearly of one sound: "color" for collar, "shin" for shim, "clans" for glands.

Coarser than ``sounding.py``: vowels, the nasals, "f" and "th" fall together, a stop at the very end may be
lost. So coarse a likeness counts only inside a name of several words whose other words were heard.
Common knowledge of what rooms swallow, no source.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Sequence

from extract.sounding import sound_of

_VOWELS = re.compile("[aeiouAIOUYCWQ]+")
_ALIKE = str.maketrans({"N": "M", "0": "F", "J": "S"})
_LEAST = 3


def near_sound_of(word: str) -> str:
    """Return the coarse sound of one lower-case word; empty where it is too short to tell."""
    key = _VOWELS.sub("a", sound_of(word)).translate(_ALIKE)
    if len(key) > _LEAST and key[-1] in "TKP":
        key = key[:-1]
    return key if len(key) >= _LEAST else ""


def neighbours_fit(words: Sequence[str], start: int, end: int, i: int) -> bool:
    """Whether a phrase whose word ``i`` was mended has one word besides that carries meaning."""
    return any(
        len(words[at]) > 2 and words[at] not in ("the", "for", "and", "number")
        for at in range(start, end)
        if at != i
    )


def words_by_near_sound(names: Iterable[Sequence[str]]) -> dict[str, tuple[str, ...]]:
    """Return the words of names of several words by their coarse sound, in the order of the alphabet."""
    found: dict[str, set[str]] = defaultdict(set)
    for words in names:
        for word in words if len(words) > 1 else ():
            if word.isalpha() and near_sound_of(word):
                found[near_sound_of(word)].add(word)
    return {sound: tuple(sorted(words)) for sound, words in found.items()}
