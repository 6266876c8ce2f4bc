"""Averages said aloud: "point nine four, nine six, nine five, average nine five".

Where several values of one thing are averaged, the average is what is meant to stand.
"""

from __future__ import annotations

from collections.abc import Sequence

from extract.quantity_arcs import Quantity, longest_quantity
from extract.tokens import Token
from extract.word_sets import word_set

_MEANS = frozenset({"average", "averages", "averaged", "averaging", "mean", "avg", "middle"})
_JOINS = frozenset({",", "and", "then", "&", ";", "."})
_BETWEEN = word_set("averages.between")
#: So many words may stand between the last value and its average.
_REACH = 6


def averaged(tokens: Sequence[Token]) -> list[Quantity]:
    """Return the numbers of an utterance that an average stands for."""
    if not any(token.norm in _MEANS for token in tokens):
        return []
    numbers = _numbers(tokens)
    found: list[Quantity] = []
    for n in range(2, len(numbers)):
        mean, gap = numbers[n], [t.norm for t in tokens[numbers[n - 1].end : numbers[n].start]]
        if (
            not _MEANS & set(gap)
            or _names_place(gap)
            or len(gap) > _REACH
            or not set(gap) <= _BETWEEN | _MEANS
        ):
            continue
        first = n - 1
        while first and _joined(tokens, numbers[first - 1], numbers[first]):
            first -= 1
        values = [number.value for number in numbers[first:n] if number.value is not None]
        if len(values) < 2 or mean.value is None or not min(values) <= mean.value <= max(values):
            continue
        found += numbers[first:n]
    return found


def _names_place(gap: Sequence[str]) -> bool:
    """Whether "middle" tells where ("five in the middle, three at four")."""
    return any(gap[i : i + 3] in (["in", "the", "middle"], ["at", "the", "middle"]) for i in range(len(gap)))


def _numbers(tokens: Sequence[Token]) -> list[Quantity]:
    found: list[Quantity] = []
    i = 0
    while i < len(tokens):
        quantity = longest_quantity(tokens, i)
        if quantity is None or tokens[i].norm == "half":
            i += 1
            continue
        found.append(quantity)
        i = quantity.end
    return found


def _joined(tokens: Sequence[Token], first: Quantity, second: Quantity) -> bool:
    gap = [token.norm for token in tokens[first.end : second.start]]
    return 0 < len(gap) <= 2 and set(gap) <= _JOINS
