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
_PHRASE_ENDS: Final = frozenset(phrase[-1] for phrase in _PHRASES)
_TAIL_STARTS: Final = frozenset(tail[0] for tail in _TAILS)
_ARTICLES: Final = ARTICLES | {"the"}
_LONGEST: Final = max(map(len, (*_PHRASES, *_TAILS)))


class About(NamedTuple):
    """How an amount was hedged."""

    approximate: bool = False
    bound: bool = False
    """Said to lie just under or over it."""


_PLAIN: Final = About()


def hedge_of(tokens: Sequence[Token], start: int, end: int) -> About:
    """Return how the words around the amount on tokens ``start`` to before ``end`` hedge it."""
    before = hedge_before(tokens, start)
    return before if before.approximate else hedge_behind(tokens, start, end)


def hedge_before(tokens: Sequence[Token], start: int) -> About:
    """Return how the words before an amount that starts at ``start`` hedge it."""
    at = start - 1
    while at > 0 and tokens[at].norm in _ARTICLES:
        at -= 1
    if at < 0:
        return _PLAIN
    if tokens[at].norm in _BEFORE:
        # "New all the way around, four rings".
        round_it = (
            tokens[at].norm in ("around", "round") and at > 0 and tokens[at - 1].norm in ("way", "right")
        )
        return _PLAIN if round_it else About(True)
    if tokens[at].norm in _PHRASE_ENDS:
        before = tuple(token.norm for token in tokens[max(0, at + 1 - _LONGEST) : at + 1])
        for phrase in _PHRASES:
            if before[-len(phrase) :] == phrase:
                return About(True, phrase[-1] in _BOUNDS)
    return _PLAIN


def hedge_behind(tokens: Sequence[Token], start: int, end: int) -> About:
    """Return how the words inside an amount and right behind it hedge it."""
    if any(token.norm in _INSIDE for token in tokens[start:end]):
        return About(True)
    if end < len(tokens) - 2 and tokens[end].norm == ",":
        # "A thou and a half, near enough"; one word behind a comma may be of what follows.
        return About(any(_follows(tokens, end + 1, tail) for tail in _TAILS if len(tail) > 1))
    if end < len(tokens) and tokens[end].norm in _TAIL_STARTS:
        return About(any(_follows(tokens, end, tail) for tail in _TAILS))
    return _PLAIN


def _follows(tokens: Sequence[Token], i: int, words: tuple[str, ...]) -> bool:
    return tuple(token.norm for token in tokens[i : i + len(words)]) == words
