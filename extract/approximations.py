"""Whether the words around an amount say that it is only about so much."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

from extract.number_cues import cue_phrases, cue_words
from extract.number_words import ARTICLES
from extract.tokens import Token

_BEFORE: Final = cue_words("about_before")
_PHRASES: Final = cue_phrases("about_phrases")
_TAILS: Final = cue_phrases("about_tails")
#: Between a number and its unit.
_INSIDE: Final = frozenset({"ish", "odd"})
#: What ends so names a bound, not the value itself.
_BOUNDS: Final = frozenset({"under", "over"})
_LONGEST: Final = max(map(len, (*_PHRASES, *_TAILS)))


class About(NamedTuple):
    """How an amount was hedged."""

    approximate: bool = False
    bound: bool = False
    """Said to lie just under or over it."""


_PLAIN: Final = About()


def hedge_of(tokens: Sequence[Token], start: int, end: int) -> About:
    """Return how the words around the amount on tokens ``start`` to before ``end`` hedge it."""
    if start:
        before = [token.norm for token in tokens[max(0, start - _LONGEST - 1) : start]]
        while len(before) > 1 and before[-1] in ("the", *ARTICLES):
            before.pop()
        if before[-1] in _BEFORE:
            return About(True)
        for phrase in _PHRASES:
            if tuple(before[-len(phrase) :]) == phrase:
                return About(True, phrase[-1] in _BOUNDS)
    if any(token.norm in _INSIDE for token in tokens[start:end]):
        return About(True)
    after = tuple(token.norm for token in tokens[end : end + _LONGEST])
    return About(True) if any(after[: len(tail)] == tail for tail in _TAILS) else _PLAIN
