"""Sets of words, kept as data in ``word_sets.yaml``, by the room that uses them."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from shared.data_files import read_data

_FILE = Path(__file__).with_name("word_sets.yaml")


@cache
def _sets() -> dict[str, str]:
    data: dict[str, str] = read_data(_FILE)
    return data


@cache
def word_set(name: str) -> frozenset[str]:
    """Return one set of words by its name, ``room.set``.

    Raises:
        KeyError: no such set; a slip in our own code, never in a user's input.
    """
    return frozenset(_sets()[name].split())


@cache
def word_list(name: str) -> tuple[str, ...]:
    """Return the words of a set in their order.

    Raises:
        KeyError: as :func:`word_set`.
    """
    return tuple(_sets()[name].split())


@cache
def phrase_list(name: str) -> tuple[str, ...]:
    """Return phrases parted by commas, in their order.

    Raises:
        KeyError: as :func:`word_set`.
    """
    return tuple(" ".join(phrase.split()) for phrase in _sets()[name].split(","))


@cache
def phrase_set(name: str) -> frozenset[str]:
    """Return phrases parted by commas as a set.

    Raises:
        KeyError: as :func:`word_set`.
    """
    return frozenset(phrase_list(name))
