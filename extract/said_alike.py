"""Numbers that tell where something measures the same, or by how much it differs; no values of their own.

"Vane one is fifteen and so is two and three" names places behind "so is"; "the same at the coupling end
plus half a thou" gives a sum that nobody said.
"""

from __future__ import annotations

from collections.abc import Sequence

from extract.numbers import is_number_word
from extract.quantity_arcs import Quantity, longest_quantity
from extract.tokens import Token

_COPULAS = frozenset({"is", "'s", "are", "was", "were"})
_SAME = frozenset({"same", "identical", "ditto"})
_MORE = frozenset({"plus", "minus"})
_REACH = 6


def places_alike(tokens: Sequence[Token]) -> list[Quantity]:
    """Return the numbers behind "so is" that name places ("so is two and three")."""
    found: list[Quantity] = []
    for i in range(len(tokens) - 2):
        told = any(is_number_word(token) for token in tokens[:i])
        if not told or tokens[i].norm != "so" or tokens[i + 1].norm not in _COPULAS:
            continue
        at = i + 2
        while at < len(tokens) and (is_number_word(tokens[at]) or tokens[at].norm in ("and", ",")):
            quantity = longest_quantity(tokens, at) if is_number_word(tokens[at]) else None
            if quantity is not None and (quantity.unit is not None or quantity.number_end > at + 1):
                # "So it is: thirty one thou".
                break
            found += [quantity] if quantity is not None else []
            at += 1
    return found


def amounts_beside_same(tokens: Sequence[Token]) -> list[Quantity]:
    """Return what is more or less than the same elsewhere ("same at the coupling end plus half a thou")."""
    found = []
    for i in range(1, len(tokens) - 1):
        before = {token.norm for token in tokens[max(0, i - _REACH) : i]}
        if tokens[i].norm not in _MORE or _SAME.isdisjoint(before):
            continue
        at = i + 2 if tokens[i + 1].norm == "a" and longest_quantity(tokens, i + 1) is None else i + 1
        quantity = longest_quantity(tokens, at)
        placed = quantity is not None and [t.norm for t in tokens[quantity.end : quantity.end + 1]] == ["at"]
        if quantity is not None and not placed:
            found.append(quantity)
    return found
