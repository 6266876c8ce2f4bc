"""What it costs to end an amount inside a run of number words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from extract.number_words import ONES, TEENS, TENS
from extract.numbers import proper_parts_at
from extract.tokens import Token

_POWERS: Final = frozenset({"hundred", "thousand"})
_POINTS: Final = frozenset({"point", "decimal"})
_NEVER_FIRST: Final = _POWERS | _POINTS | {"tenths", "hundredths", "thousandths", "thousandth"}
_PARTS_OF_INCH: Final = frozenset({"eighths", "sixteenths", "fourths", "quarters", "halves"})


def split_cost(tokens: Sequence[Token], i: int) -> float:
    """Return what it costs to cut a run of number words before token ``i``.

    "two | twenty eight" is how people string position and value together; "thirty | one" and
    "two hundred | fifty" cut through what is said as one number.
    """
    if not 0 < i < len(tokens):
        return 0.0
    before, word = tokens[i - 1].norm, tokens[i].norm
    if word in _NEVER_FIRST or word in _PARTS_OF_INCH:
        return 2.5 if _in_number(before) else 0.0
    if before in _POINTS:
        return 2.5
    if word in ("half", "quarter") or (word in ("and", "&") and _part_follows(tokens, i + 1)):
        return 1.2 if _in_number(before) else 0.0
    if before in TENS and word in ONES:
        return 0.9
    if before in _POWERS and (word in TENS or word in ONES or word in TEENS or word == "and"):
        return 1.2
    if before in ONES and word in ONES:
        return 0.3
    if before in ONES and (word in TENS or word in TEENS):
        return 0.1
    return 0.0


def _in_number(word: str) -> bool:
    return (
        word in ONES
        or word in TENS
        or word in TEENS
        or word in ("hundred", "zero", "oh", "nought")
        or word[0].isdecimal()
    )


def _part_follows(tokens: Sequence[Token], i: int) -> bool:
    return i + 1 < len(tokens) and any(part.scale == "plain" for part in proper_parts_at(tokens, i))
