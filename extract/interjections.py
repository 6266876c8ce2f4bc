"""Words called out to halt that are called like an item: "hold on" names no holding time."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from extract.quantity_arcs import quantities_at
from extract.tokens import Token
from extract.word_sets import phrase_list, word_set

_HALTS = tuple(tuple(phrase.split()) for phrase in phrase_list("interjections.halts"))
_BEFORE = word_set("clauses.fillers")
#: So far behind "hold on the casing" the time may stand that shows the holding to be meant.
_REACH = 8


class _Named(Protocol):
    """What is named where."""

    @property
    def start(self) -> int:
        """First token."""

    @property
    def end(self) -> int:
        """Token behind the last."""


def exclaimed(tokens: Sequence[Token], named: _Named) -> bool:
    """Whether what looks like a name is only the beginning of "hold on", "hang on"."""
    for words in _HALTS:
        end = named.start + len(words)
        found = tuple(token.norm for token in tokens[named.start : end]) == words
        if found and named.end < end:
            return _opens(tokens, named.start) or not _timed(tokens, end)
    return False


def _opens(tokens: Sequence[Token], i: int) -> bool:
    """Whether nothing but small words stands before a token."""
    return all(token.norm in _BEFORE or token.norm in ".!?" for token in tokens[:i])


def _timed(tokens: Sequence[Token], i: int) -> bool:
    """Whether a time follows ("pressure hold on the casing ten minutes")."""
    units = (q.unit for at in range(i, min(len(tokens), i + _REACH)) for q in quantities_at(tokens, at))
    return any(unit is not None and unit.unit in ("min", "s") for unit in units)
