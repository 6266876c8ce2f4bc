"""Sets of words, kept as data, that tell what a number near them is."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from shared.data_files import read_data

_FILE = Path(__file__).with_name("number_cues.yaml")


@cache
def _lists() -> dict[str, str | list[str]]:
    data: dict[str, str | list[str]] = read_data(_FILE)
    return data


@cache
def cue_words(name: str) -> frozenset[str]:
    """Return one set of words by its name in ``number_cues.yaml``.

    Raises:
        KeyError: no such set; a slip in our own code, never in a user's input.
    """
    words = _lists()[name]
    return frozenset(
        words.split() if isinstance(words, str) else (word for line in words for word in line.split())
    )


@cache
def cue_phrases(name: str) -> tuple[tuple[str, ...], ...]:
    """Return a list of phrases by its name, each a tuple of words.

    Raises:
        KeyError: as :func:`cue_words`.
    """
    return tuple(tuple(line.split()) for line in _lists()[name])


@cache
def cue_pairs(name: str) -> frozenset[tuple[str, str]]:
    """Return a set of word pairs by its name.

    Raises:
        KeyError: as :func:`cue_words`.
    """
    pairs = (tuple(line.split()) for line in _lists()[name])
    return frozenset((first, second) for first, second in pairs)
