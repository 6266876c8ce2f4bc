"""Temperatures of the surroundings, in passing: "with the shop at eighteen", "ambient's twenty degrees"."""

from __future__ import annotations

from collections.abc import Sequence

from extract.quantity_arcs import Quantity, longest_quantity
from extract.tokens import Token
from extract.word_sets import word_set

_PLACES = word_set("surroundings.places")
_BETWEEN = word_set("surroundings.between")
_DEGREES = frozenset({"degC", "degF"})
_REACH = 5
#: Colder or hotter than this no shop is, in either scale.
_COLDEST, _HOTTEST = -40, 130


def of_surroundings(tokens: Sequence[Token]) -> list[Quantity]:
    """Return the numbers that say how warm it is around the job."""
    found = []
    for i, token in enumerate(tokens):
        if token.norm not in _PLACES:
            continue
        for at in range(i + 1, min(i + 1 + _REACH, len(tokens))):
            quantity = longest_quantity(tokens, at)
            if quantity is not None and _may_be(quantity) and at > i + 1:
                found.append(quantity)
            if quantity is not None or tokens[at].norm not in _BETWEEN:
                break
    return found


def _may_be(quantity: Quantity) -> bool:
    degrees = quantity.unit is None or quantity.unit.unit in _DEGREES or quantity.unit.said == "degrees"
    return degrees and quantity.value is not None and _COLDEST <= quantity.value <= _HOTTEST
