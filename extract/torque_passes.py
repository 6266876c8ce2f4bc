"""Early passes of a torque: "first pass forty, then seventy five"; only the last is what was done."""

from __future__ import annotations

from collections.abc import Sequence

from extract.quantity_arcs import Quantity, longest_quantity
from extract.tokens import Token

_ONE_PASS = frozenset({"pass", "round", "bite", "go"})
_EARLY = frozenset({"first", "initial", "early"})
_LATER = frozenset({"then", "final", "finally", "second", "third", "next", "last", "finish", "finished"})
_AT = frozenset({"at", "was", "is", "'s", "to", "on", "of", ",", ":"})
#: So many words behind "then" the later number may stand.
_REACH = 3


def passes_on_the_way(tokens: Sequence[Token]) -> list[Quantity]:
    """Return what an early pass was done at, where another follows ("first pass forty, then seventy")."""
    found = []
    for i in range(1, len(tokens) - 1):
        if tokens[i].norm not in _ONE_PASS or tokens[i - 1].norm not in _EARLY:
            continue
        at = i + 1
        while at < len(tokens) - 1 and tokens[at].norm in _AT:
            at += 1
        quantity = longest_quantity(tokens, at)
        if quantity is not None and _another_follows(tokens, quantity.end):
            found.append(quantity)
    return found


def _another_follows(tokens: Sequence[Token], start: int) -> bool:
    """Whether a later pass is told with its number ("then to seventy five")."""
    later = [i for i in range(start, len(tokens)) if tokens[i].norm in _LATER]
    reach = (at for i in later for at in range(i + 1, min(i + 1 + _REACH, len(tokens))))
    return any(longest_quantity(tokens, at) is not None for at in reach)
