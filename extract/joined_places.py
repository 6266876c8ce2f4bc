"""Two numbered places with one value: "number one and two, twelve"."""

from __future__ import annotations

from collections.abc import Sequence

from extract.number_words import ONES
from extract.numbers import is_number_word
from extract.spoken_units import unit_names_at
from extract.tokens import Token

_ONLY_ONE = 0.9
_BEFORE_VALUE = frozenset({",", ":", "is", "are", "'s", "at", "both", "read"})


def joined_places(tokens: Sequence[Token], i: int) -> bool:
    """Whether the number at a token is joined to the next higher one, with a value behind both."""
    if i + 3 >= len(tokens) or tokens[i + 1].norm not in ("and", "&"):
        return False
    first, second = _place(tokens[i]), _place(tokens[i + 2])
    if first is None or second is None or second <= first or unit_names_at(tokens, i + 3)[0]:
        return False
    at = i + 3
    while at < len(tokens) and tokens[at].norm in _BEFORE_VALUE:
        at += 1
    return at < len(tokens) and is_number_word(tokens[at])


def joined_cost(tokens: Sequence[Token], i: int) -> float:
    """Return what it costs to take the number at a token for the only place of the value behind."""
    return _ONLY_ONE if joined_places(tokens, i) else 0.0


def _place(token: Token) -> int | None:
    if token.text.isdecimal() and len(token.text) == 1:
        return int(token.text)
    return ONES.get(token.norm)
