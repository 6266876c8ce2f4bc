"""Zeros that are set on a gauge and not read from it: "zero it", "the dial's set to zero"."""

from __future__ import annotations

from collections.abc import Sequence

from extract.quantity_arcs import Quantity, longest_quantity
from extract.tokens import Token

_ZEROED = frozenset({"zero", "nought", "0"})
_ZERO_OBJECTS = frozenset({"it", "them", "the", "that", "out", "my", "this", "your", "her"})
_SET = frozenset({"set", "reset", "dial", "dialed", "dialled", "back", "zeroed", "turn", "turned", "nulled"})


def zeroings(tokens: Sequence[Token]) -> list[Quantity]:
    """Return the zeros that a gauge is set to."""
    found = (
        longest_quantity(tokens, i)
        for i, token in enumerate(tokens)
        if token.norm in _ZEROED and _is_zeroing(tokens, i)
    )
    return [quantity for quantity in found if quantity is not None]


def _is_zeroing(tokens: Sequence[Token], i: int) -> bool:
    """Whether a "zero" is set on a gauge and not read from it ("zero it", "the wrong side of zero")."""
    following = tokens[i + 1].norm if i + 1 < len(tokens) else ""
    before = [token.norm for token in tokens[max(0, i - 2) : i]]
    setting = before[-1:] == ["to"] and before[:1] and before[0] in _SET
    sided = before == ["side", "of"]
    return (
        following in _ZERO_OBJECTS or sided or bool(setting) or (before[-1:] == ["to"] and _resets(tokens, i))
    )


def _resets(tokens: Sequence[Token], i: int) -> bool:
    return any(token.norm in _SET for token in tokens[max(0, i - 5) : i])
