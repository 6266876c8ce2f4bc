"""The words between a size and how far it may lie off: "plus or minus", "give or take"."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from extract.number_cues import cue_phrases
from extract.tokens import Token

_PHRASES: Final = cue_phrases("tolerances")
_STARTS: Final = frozenset(phrase[0] for phrase in _PHRASES)
_HALF: Final = frozenset(cue_phrases("half_tolerances"))


def tolerance_end(tokens: Sequence[Token], i: int) -> int:
    """Return the token behind the words of a tolerance at ``i``; ``i`` where there are none."""
    if tokens[i].norm not in _STARTS:
        return i
    words = tuple(token.norm for token in tokens[i : i + 3])
    return i + max((len(phrase) for phrase in _PHRASES if words[: len(phrase)] == phrase), default=0)


def tolerance_tokens(tokens: Sequence[Token]) -> frozenset[int]:
    """Return the indexes of all words of tolerances; "plus" and "minus" among them are no signs."""
    return frozenset(k for i in range(len(tokens)) for k in range(i, tolerance_end(tokens, i)))


def is_tolerance(words: Sequence[str]) -> bool:
    """Tell whether words between two amounts make the second the tolerance of the first."""
    return any(tuple(words[k : k + len(phrase)]) == phrase for phrase in _PHRASES for k in range(len(words)))


def recites_nominal(tokens: Sequence[Token], i: int, end: int) -> bool:
    """Tell whether the size before these words is recited; "give or take" only hedges it."""
    return tuple(token.norm for token in tokens[i:end]) not in _HALF
